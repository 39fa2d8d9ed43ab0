"""Slow and plain: bodies against zones, triangle by triangle, by clipping polygons and by shapely's distances in the plane.

Nothing of the code under test is used, so that an answer of both is an answer twice.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from bimcheck.clash.zones import TOUCH, Zone


def clipped(polygon: np.ndarray, axis: int, limit: float, keep_below: bool) -> np.ndarray:
    """Sutherland and Hodgman: the part of a polygon (k, 3) on one side of a plane square to an axis."""
    side = (limit - polygon[:, axis]) * (1.0 if keep_below else -1.0)
    out = []
    for k in range(len(polygon)):
        a, b = polygon[k - 1], polygon[k]
        if (side[k - 1] >= 0) != (side[k] >= 0):
            out.append(a + (b - a) * side[k - 1] / (side[k - 1] - side[k]))
        if side[k] >= 0:
            out.append(b)
    return np.array(out).reshape(-1, 3)


def enters(triangles: np.ndarray, zone: Zone) -> bool:
    """Whether the surface (k, 3, 3), in the anchor's frame, has a point within the zone less the touch."""
    limits = [(2, TOUCH, False), (2, zone.depth - TOUCH, True)]
    limits += [] if zone.round else [(k, way * (zone.half[k] - TOUCH), way > 0) for k in (0, 1) for way in (-1, 1)]
    for triangle in triangles:
        polygon = np.asarray(triangle)
        for axis, limit, below in limits:
            polygon = clipped(polygon, axis, limit, below) if len(polygon) else polygon
        if len(polygon) and (not zone.round or _distance(polygon[:, :2]) < zone.half[0] - TOUCH):
            return True
    return False


def _distance(points: np.ndarray) -> float:
    return float(shapely.distance(shapely.MultiPoint(points).convex_hull, shapely.Point(0, 0)))


def holds(triangles: np.ndarray, zone: Zone) -> bool:
    """Whether the closed surface holds the middle of the zone: its solid angle there is a whole turn (Van Oosterom and
    Strackee 1983)."""
    a, b, c = np.moveaxis(triangles - np.array([0, 0, zone.depth / 2]), 1, 0)
    la, lb, lc = (np.linalg.norm(p, axis=1) for p in (a, b, c))
    top = np.einsum("ki,ki->k", a, np.cross(b, c))
    under = la * lb * lc + (a * b).sum(1) * lc + (a * c).sum(1) * lb + (b * c).sum(1) * la
    return abs(2 * np.arctan2(top, under).sum()) > 2 * np.pi


def prism(ring: Sequence[Sequence[float]], length: float, holes: Sequence[Sequence[Sequence[float]]] = ()) -> np.ndarray:
    """(k, 3, 3) closed surface of a section (z up its first axis, outward normals) drawn out along x from 0 to length."""
    area = shapely.orient_polygons(shapely.Polygon(ring, holes))
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(area))
    flat = shapely.get_coordinates(shapely.orient_polygons(parts)).reshape(-1, 4, 2)[:, :3]
    def at(x: float, points: np.ndarray) -> np.ndarray:
        return np.concatenate([np.full((*points.shape[:-1], 1), x), points], axis=-1)
    found = [at(length, flat), at(0.0, flat[:, ::-1])]
    for line in (area.exterior, *area.interiors):
        p = np.asarray(line.coords)
        a, b = p[:-1], p[1:]
        found += [np.stack([at(0, a), at(length, b), at(length, a)], axis=1), np.stack([at(0, a), at(0, b), at(length, b)], axis=1)]
    return np.concatenate(found)


def circle(r: float, count: int = 24) -> list[tuple[float, float]]:
    a = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return list(zip((r * np.cos(a)).tolist(), (r * np.sin(a)).tolist(), strict=True))


def l_section(b: float, t: float) -> list[tuple[float, float]]:
    return [(0, 0), (b, 0), (b, t), (t, t), (t, b), (0, b)]


def u_section(b: float, h: float, t: float) -> list[tuple[float, float]]:
    return [(0, 0), (b, 0), (b, h), (b - t, h), (b - t, t), (t, t), (t, h), (0, h)]


def cone(r: float, h: float, count: int = 12) -> np.ndarray:
    """A body with slanting faces: a pyramid of many sides along x."""
    base = np.column_stack([np.zeros(count), np.array(circle(r, count))])
    tip, middle = np.array([h, 0.0, 0.0]), np.zeros(3)
    after = np.roll(base, -1, axis=0)
    return np.concatenate([np.stack([base, after, np.broadcast_to(tip, base.shape)], axis=1),
                           np.stack([after, base, np.broadcast_to(middle, base.shape)], axis=1)])
