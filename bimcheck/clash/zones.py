"""Zones behind the rear face against triangles, exactly: boxes and cylinders along the panel's normal.

Everything is in the frame of a panel, moved so that the anchor's axis is x = y = 0; z is the depth behind the rear face.
Triangles are arrays (3 corners, 3 coordinates, k), so that work runs along them.  Boxes: separating axes of triangle and
box (its 3 normals, the triangle's normal, 9 products of edges).  Cylinders: the triangle is cut to the zone's depth; what
is left is a convex polygon whose outline, seen along the normal, is held against the circle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bimcheck.clash.places import Floats, Ints

TOUCH = 0.05  # mm by which zones are smaller than stated: touching is not a clash


@dataclass(frozen=True)
class Zone:
    """half: half width and half height of a rectangle, or the radius twice where it is round; depth from 0 to `depth`; mm."""

    name: str
    half: tuple[float, float]
    depth: float
    round: bool = False


def largest(zones: Sequence[Zone]) -> tuple[float, float, float]:
    """Greatest half width, half height and depth."""
    return max(z.half[0] for z in zones), max(z.half[1] for z in zones), max(z.depth for z in zones)


def box_enters(low: Floats, high: Floats, zone: Zone) -> np.ndarray:
    """(k,) which solid boxes along the axes, low and high (3, k), share more than a touch with the zone."""
    deep = (low[2] < zone.depth - TOUCH) & (high[2] > TOUCH)
    if not zone.round:
        (hx, hy) = (h - TOUCH for h in zone.half)
        return deep & (low[0] < hx) & (high[0] > -hx) & (low[1] < hy) & (high[1] > -hy)
    x, y = (np.maximum(np.maximum(low[k], -high[k]), 0.0) for k in (0, 1))
    return deep & (x**2 + y**2 < (zone.half[0] - TOUCH) ** 2)


def entered(corners: Floats, pair: Ints, count: int, zone: Zone) -> np.ndarray:
    """(count,) which pairs have a triangle (3, 3, k) that shares more than a touch with the zone; pair (k,) of each."""
    half = np.array([zone.half[0] - TOUCH, zone.half[1] - TOUCH, zone.depth / 2 - TOUCH])
    middle = np.array([0.0, 0.0, zone.depth / 2])
    out = np.zeros(count, dtype=bool)
    near, sure = _extents(corners, middle - half, middle + half)
    rows = np.flatnonzero(near)
    if not zone.round:
        out[pair[near & sure]] = True
        rows = rows[~out[pair[rows]]]
    if len(rows):
        part = corners[:, :, rows]
        hit = _in_circle(sliced(part, TOUCH, zone.depth - TOUCH), half[0]) if zone.round else _in_box(part - middle[:, None], half)
        out[pair[rows[hit]]] = True
    return out


def enters(corners: Floats, zone: Zone) -> np.ndarray:
    """(k,) which triangles (3, 3, k) share more than a touch with the zone."""
    count = corners.shape[2]
    return entered(corners, np.arange(count), count, zone)


def _extents(corners: Floats, low: Floats, high: Floats) -> tuple[np.ndarray, np.ndarray]:
    """Whether a triangle's extents meet those of the box; and whether that alone is proof: where two of them lie within
    the box's, a point of the triangle at a common place on the third lies in the box."""
    a, b, c = corners
    least, most = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    within = (least > low[:, None]) & (most < high[:, None])
    return ((least < high[:, None]) & (most > low[:, None])).all(axis=0), within.sum(axis=0) >= 2


def _in_box(corners: Floats, half: Floats) -> np.ndarray:
    """Triangle against a box around the origin: apart where an axis separates them (Ericson's list of 13 axes; the
    box's own three are done)."""
    alive = np.arange(corners.shape[2])
    a, b, c = corners
    normal = np.cross(b - a, c - a, axis=0)
    apart = np.abs((normal * a).sum(axis=0)) >= (half[:, None] * np.abs(normal)).sum(axis=0)
    apart &= np.abs(normal).max(axis=0) > 0  # a triangle without area has no plane of its own
    alive = alive[~apart]
    for first, second in ((0, 1), (1, 2), (2, 0)):
        for axis in range(3):
            alive = alive[~_edge_apart(corners[:, :, alive], first, second, axis, half)]
    out = np.zeros(corners.shape[2], dtype=bool)
    out[alive] = True
    return out


def _edge_apart(corners: Floats, first: int, second: int, axis: int, half: Floats) -> np.ndarray:
    """Whether the product of an edge and a box axis separates: both ends of the edge have the same place on it."""
    i, j = ((1, 2), (2, 0), (0, 1))[axis]
    edge = corners[second] - corners[first]
    on = edge[i] * corners[first, j] - edge[j] * corners[first, i]
    other = corners[3 - first - second]
    off = edge[i] * other[j] - edge[j] * other[i]
    reach = half[j] * np.abs(edge[i]) + half[i] * np.abs(edge[j])
    return ((np.minimum(on, off) >= reach) | (np.maximum(on, off) <= -reach)) & (reach > 0)


def sliced(corners: Floats, low: float, high: float) -> Floats:
    """(6, 2, k) outline seen along z of each triangle's part between low and high; nan where nothing is left.

    An edge of the triangle gives its part between the two planes: two points, so that six points in order go round
    the polygon (some of them twice).
    """
    points = []
    for start, end in ((0, 1), (1, 2), (2, 0)):
        a, b = corners[start], corners[end]
        rise = b[2] - a[2]
        with np.errstate(divide="ignore", invalid="ignore"):
            t_low, t_high = (low - a[2]) / rise, (high - a[2]) / rise
        level = rise == 0
        away = (np.maximum(a[2], b[2]) < low) | (np.minimum(a[2], b[2]) > high)
        for t, whole in ((np.fmin(t_low, t_high), 0.0), (np.fmax(t_low, t_high), 1.0)):
            at = np.where(level, whole, np.clip(t, 0.0, 1.0))
            points.append(np.where(away, np.nan, a[:2] + at * (b[:2] - a[:2])))
    return _filled(np.stack(points))


def _filled(points: Floats) -> Floats:
    """Missing points repeat the one before them (going round), so that the ring stays closed."""
    for _ in range(2):
        for k in range(6):
            points[k] = np.where(np.isnan(points[k]), points[k - 1], points[k])
    return points


def within_strip(points: Floats, axis: int, half: float) -> tuple[Floats, Floats]:
    """(k,) least and greatest place along the axis of the part of convex rings (6, 2, k) that lies less than `half` to both
    sides of it; nan where there is none."""
    a, b = points, np.roll(points, -1, axis=0)
    across = 1 - axis
    places = [np.where(np.abs(a[:, across]) < half, a[:, axis], np.nan)]
    for limit in (-half, half):
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (limit - a[:, across]) / (b[:, across] - a[:, across])
        t = np.where((t > 0) & (t < 1), t, np.nan)
        places.append(a[:, axis] + t * (b[:, axis] - a[:, axis]))
    every = np.concatenate(places)
    return np.fmin.reduce(every), np.fmax.reduce(every)


def _in_circle(points: Floats, radius: float) -> np.ndarray:
    """Whether the convex ring (6, 2, k) comes within the radius of the axis, or goes round it."""
    a, b = points, np.roll(points, -1, axis=0)
    run = b - a
    square = (run**2).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.clip(np.where(square > 0, -(a * run).sum(axis=1) / square, 0.0), 0.0, 1.0)
    nearest = a + t[:, None, :] * run
    return ((nearest**2).sum(axis=1) < radius**2).any(axis=0) | _around(a, b)


def _around(a: Floats, b: Floats) -> np.ndarray:
    """Whether rings of edges from a to b (edges, 2, k) go round the axis."""
    below = a[:, 1] <= 0
    crosses = below != (b[:, 1] <= 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = a[:, 0] - a[:, 1] * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    return (np.where(crosses, x > 0, False).sum(axis=0) % 2) == 1


def surrounds(corners: Floats, pair: Ints, count: int, depth: float) -> np.ndarray:
    """(count,) whether the closed body of each pair holds the point on the axis at `depth`: a ray outwards along z.

    For bodies whose surface does not come near the zone because the zone lies wholly inside.
    """
    # Off the axis by a hair, so that the ray runs through no edge of bodies centred on the anchor.
    moved = corners - np.array([1.37e-3, 2.11e-3, depth])[:, None]
    hit = _around(moved[:, :2], np.roll(moved[:, :2], -1, axis=0))
    normal = np.cross(moved[1] - moved[0], moved[2] - moved[0], axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        z = (normal * moved[0]).sum(axis=0) / normal[2]
    return np.bincount(pair[hit & (z > 0)], minlength=count) % 2 == 1
