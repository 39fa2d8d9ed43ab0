"""Distance of points from the edges of a plate."""

from __future__ import annotations

import numpy as np
import shapely

from bimcheck.plate.hermite import Array


def is_box(polygon: shapely.Polygon) -> bool:
    """True for a rectangle along the axes without cut-outs."""
    x0, y0, x1, y1 = polygon.bounds
    return bool(np.isclose(polygon.area, (x1 - x0) * (y1 - y0), rtol=1e-12))


def edge_distance(polygon: shapely.Polygon, points: Array) -> Array:
    """(p,) distance of points (p, 2) to the nearest edge, negative outside the plate."""
    if is_box(polygon):
        x0, y0, x1, y1 = polygon.bounds
        return box_distance(np.array([x1 - x0, y1 - y0]), points - [x0, y0])
    at = shapely.points(points)
    distance = shapely.distance(polygon.boundary, at)
    return np.where(shapely.covers(polygon, at), distance, -distance)


def box_distance(size: Array, points: Array) -> Array:
    """(p,) the same for rectangles of size (2,) or (p, 2) with a corner at 0, 0."""
    beyond = np.abs(points - size / 2) - size / 2
    within = -beyond.max(axis=1)
    return np.where(within >= 0, within, -np.hypot(*np.maximum(beyond, 0.0).T))
