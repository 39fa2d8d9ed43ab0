"""Positions on outlines that are no rectangles: rows cut by the outline, moved in by the edge distance."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.core.units import Array
from bimcheck.layout.sites import Site

SLACK = 0.1  # mm added to the edge distance: outlines are rounded to 0.1 mm
HOLD = 1e-6


def region(site: Site, edge: float) -> shapely.Geometry:
    """The outline less everything nearer than `edge` to outline or cut-outs."""
    return shapely.buffer(site.polygon, -(edge + SLACK), quad_segs=32, join_style="round")


def inside(site: Site, edge: float, points: Array) -> NDArray[np.bool_]:
    """(k,) True where every anchor (k, n, 2) lies on the panel at least `edge` from outline and cut-outs."""
    at = shapely.points(np.nan_to_num(points, nan=-1e9))
    ok = shapely.covers(site.polygon, at) & (shapely.distance(site.polygon.boundary, at) >= edge + SLACK / 2 - HOLD)
    return np.asarray(np.logical_and.reduce(ok, axis=1))


def scanned(site: Site, edge: float, shares: Array, rows: Array, rounding: float) -> Array:
    """(k, ny, nx, 2) anchors: each row of `rows` (k, ny) is cut by the permitted region, and columns stand at `shares`
    (k, nx) of the room between its ends; a column that falls into a gap moves to the gap's nearer end."""
    room = region(site, edge)
    heights, at = np.unique(np.round(rows, 6), return_inverse=True)
    out = np.full((*rows.shape, shares.shape[1], 2), np.nan)
    out[..., 1] = rows[..., None]
    for i, pieces in enumerate(_pieces(room, heights, float(site.size[0]))):
        k, row = np.nonzero(at.reshape(rows.shape) == i)
        if len(pieces):
            out[k, row, :, 0] = _placed(pieces, shares[k], float(site.size[0]), rounding)
    return out


def _pieces(room: shapely.Geometry, heights: Array, width: float) -> list[Array]:
    """For each height the (m, 2) intervals of x that lie in the room."""
    lines = shapely.linestrings([[[-1.0, y], [width + 1.0, y]] for y in heights]) if len(heights) else np.empty(0)
    cuts = shapely.intersection(room, lines)
    return [np.array(sorted((p.bounds[0], p.bounds[2]) for p in shapely.get_parts(c) if p.length > 0)).reshape(-1, 2) for c in cuts]


def _placed(pieces: Array, shares: Array, width: float, rounding: float) -> Array:
    low, high = pieces[0, 0], pieces[-1, 1]
    x = _rounded(low + shares * (high - low), width, rounding)
    nearest = np.clip(x[..., None], pieces[:, 0], pieces[:, 1])
    off = np.abs(nearest - x[..., None])
    right = x > (low + high) / 2 + HOLD  # of two ends equally near, the outer one
    pick = np.where(right, off.shape[-1] - 1 - np.argmin(off[..., ::-1], axis=-1), np.argmin(off, axis=-1))
    return np.take_along_axis(nearest, pick[..., None], axis=-1)[..., 0]


def _rounded(x: Array, width: float, rounding: float) -> Array:
    """To multiples of the rounding from the nearer side, toward the middle."""
    left = np.ceil(x / rounding - HOLD) * rounding
    right = width - np.ceil((width - x) / rounding - HOLD) * rounding
    return np.where(np.abs(x - width / 2) < HOLD, x, np.where(x < width / 2, left, right))


def triangles(site: Site, edge: float, steps: int = 9) -> Array:
    """(k, 3, 2) anchors of a triangular outline: its corners moved in along the bisectors, from the least edge distance."""
    corners = site.rings[0]
    side = np.linalg.norm(np.roll(corners, -1, axis=0) - np.roll(corners, 1, axis=0), axis=1)
    centre, radius = side @ corners / side.sum(), 2 * site.polygon.area / side.sum()
    if radius <= edge + SLACK:
        return np.empty((0, 3, 2))
    least = (edge + SLACK) / radius
    move = np.linspace(least, least + 0.7 * (1 - least), steps)
    points = corners + move[:, None, None] * (centre - corners)
    return points[:, np.lexsort((points[0, :, 0], points[0, :, 1]))]
