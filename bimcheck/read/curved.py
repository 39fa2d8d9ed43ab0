"""Plates bent about one axis: the cut square to the axis shows two long sides and two short ends."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.read.found import Odd
from bimcheck.read.polygons import cleaned, numbered, ring_area
from bimcheck.read.soup import Soup

Floats = NDArray[Any]  # of float64
SHARP = np.radians(40.0)  # a corner turns by more than this, an arc's chords by less
LEAST_RISE = 0.5  # mm; flatter than this is not curved


def read_curved(soup: Soup) -> list[Odd]:
    """The body seen from its outer and from its inner side; nothing where it is no bent plate."""
    axis = _axis(soup)
    if axis is None:
        return []
    u = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    cut = _cut(soup, axis, u, v)
    sides = _long_sides(cut) if cut is not None else None
    if sides is None:
        return []
    along = soup.points[np.unique(soup.a)] @ axis
    frame = np.array([u, v])
    found = [_side(own, other, frame, axis, (along.min(), along.max()), soup.base[0]) for own, other in (sides, sides[::-1])]
    return [f for f in found if f.sagitta >= LEAST_RISE]


def _axis(soup: Soup) -> Floats | None:
    """The direction that the large faces are all parallel to."""
    # Of a wide plate with little rise the axis need not be the least of the three: each is tried without its end faces.
    tried = [_refined(soup, axis) for axis in np.linalg.eigh((soup.normal * soup.area[:, None]).T @ soup.normal)[1].T]
    value, axis = min(tried, key=lambda t: t[0][0] / max(t[0][2], 1e-30))
    # A flat plate or a sphere has no such axis.
    if not value[1] > 1e-4 * value[2] or value[0] > 0.01 * value[2]:
        return None
    return axis * (1.0 if axis[int(np.argmax(np.abs(axis)))] > 0 else -1.0)


def _refined(soup: Soup, axis: Floats) -> tuple[Floats, Floats]:
    """Rising moments of the normals without the end faces of `axis`, and the direction of the least."""
    weight = np.where(np.abs(soup.normal @ axis) > 0.7, 0.0, soup.area)
    value, vector = np.linalg.eigh((soup.normal * weight[:, None]).T @ soup.normal)
    return value, vector[:, 0]


def _cut(soup: Soup, axis: Floats, u: Floats, v: Floats) -> Floats | None:
    """(k, 2) outline of the body seen along the axis, from its end faces."""
    ends = np.flatnonzero((np.abs(soup.normal @ axis) > 0.999) & (soup.area > 1e-6))
    if not len(ends):
        return None
    pieces = []
    for f in ends:
        at = soup.a[soup.edge_face == f]
        flat = np.column_stack([soup.points[at] @ u, soup.points[at] @ v])
        pieces.append(shapely.make_valid(shapely.Polygon(np.round(flat, 4))) if len(flat) >= 3 else shapely.Polygon())
    union = shapely.union_all(pieces, grid_size=1e-4)
    return cleaned(np.asarray(union.exterior.coords)[:-1]) if isinstance(union, shapely.Polygon) and not union.is_empty else None


def _long_sides(ring: Floats) -> tuple[Floats, Floats] | None:
    """The two long chains between four sharp corners."""
    if ring_area(ring) < 0:
        ring = ring[::-1]
    into, out = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], np.sum(into * out, axis=1))
    sharp = np.flatnonzero(np.abs(turn) > SHARP)
    if len(sharp) != 4:
        return None
    ring = np.roll(ring, -sharp[0], axis=0)
    cuts = [*(sharp - sharp[0]).tolist(), len(ring)]
    chains = [np.take(ring, range(cuts[i], cuts[i + 1] + 1), axis=0, mode="wrap") for i in range(4)]
    length = [float(np.linalg.norm(np.diff(c, axis=0), axis=1).sum()) for c in chains]
    first = 0 if length[0] + length[2] > length[1] + length[3] else 1
    long, short = (chains[first], chains[first + 2]), max(length[1 - first], length[3 - first if first else 3])
    return long if min(length[first], length[first + 2]) > 2 * short and max(len(c) for c in long) > 3 else None


def _side(own: Floats, other: Floats, frame: Floats, axis: Floats, ends: tuple[float, float], base: Floats) -> Odd:
    """The plate seen from one of its long sides: chord as plane, chord by length as outline."""
    chord = own[-1] - own[0]
    c = chord / np.linalg.norm(chord)
    away = np.array([c[1], -c[0]])
    away = away if (own.mean(axis=0) - other.mean(axis=0)) @ away > 0 else -away
    n, u = away @ frame, c @ frame
    v = np.cross(n, u)
    rise = (own - own[0]) @ away
    thickness = float(shapely.distance(shapely.points(own), shapely.LineString(other)).min())
    height = sorted(float(e * (axis @ v)) for e in ends)
    outlines = [_rectangle((p - own[0]) @ c, height) for p in (own, other)]
    origin = own[0] @ frame + base
    return Odd("curved", origin, u, v, n, thickness, thickness, outlines[0], outlines[1], float(np.abs(rise).max()))


def _rectangle(x: Floats, y: list[float]) -> Floats:
    x0, x1 = float(x.min()), float(x.max())
    return numbered([np.array([[x0, y[0]], [x1, y[0]], [x1, y[1]], [x0, y[1]]])])
