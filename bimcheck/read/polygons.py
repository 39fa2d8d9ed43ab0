"""Rings in the plane: area, clean-up, numbering; shapely where rings are cut or put together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[Any]  # of float64
STRAIGHT = 0.005  # mm; a point this close to the line of its neighbours is no corner


def ring_area(ring: Floats) -> float:
    """Signed area, counter-clockwise positive; (k, 2)."""
    p = ring[:, :2] - ring[0, :2]
    q = np.roll(p, -1, axis=0)
    return float(np.sum(p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]) / 2)


def perimeter(ring: Floats) -> float:
    return float(np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1).sum())


def cleaned(ring: Floats) -> Floats:
    """Without repeated points and points on a straight line."""
    ring = ring[np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) > 1e-6] if len(ring) > 1 else ring
    if len(ring) < 3:
        return ring
    before, after = np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0)
    chord, own = after - before, ring - before
    length = np.linalg.norm(chord, axis=1)
    off = np.abs(chord[:, 0] * own[:, 1] - chord[:, 1] * own[:, 0])
    return ring[(off > STRAIGHT * length) | (length < STRAIGHT)]


def numbered(rings: Sequence[Floats]) -> Floats:
    """(k, 3) x, y, ring number: the first ring is the outline."""
    return np.concatenate([np.column_stack([r, np.full(len(r), float(i))]) for i, r in enumerate(rings)])


def split(outline: Floats) -> list[Floats]:
    """The rings (k, 2) of a numbered outline."""
    cuts = np.flatnonzero(np.diff(outline[:, 2])) + 1
    return [r[:, :2] for r in np.split(outline, cuts)] if len(outline) else []


def polygon(rings: Sequence[Floats]) -> shapely.Polygon:
    made = shapely.Polygon(rings[0], rings[1:])
    return made if made.is_valid else largest(shapely.make_valid(made))


def largest(shape: shapely.Geometry) -> shapely.Polygon:
    """The largest polygon in a shape; an empty one where there is none."""
    parts = [p for p in shapely.get_parts(shape) if isinstance(p, shapely.Polygon)]
    for nested in (p for p in shapely.get_parts(shape) if not isinstance(p, shapely.Polygon)):
        parts += [p for p in shapely.get_parts(nested) if isinstance(p, shapely.Polygon)]
    return max(parts, key=lambda p: p.area, default=shapely.Polygon())


def rings_of_polygon(shape: shapely.Polygon) -> list[Floats]:
    """Outline counter-clockwise, then cut-outs clockwise, cleaned."""
    turned = shapely.orient_polygons(shape) if hasattr(shapely, "orient_polygons") else shapely.geometry.polygon.orient(shape)
    rings = [np.asarray(r.coords)[:-1, :2] for r in (turned.exterior, *turned.interiors)]
    return [r for r in (cleaned(ring) for ring in rings) if len(r) >= 3]
