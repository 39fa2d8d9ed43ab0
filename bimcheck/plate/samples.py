"""Where deflection and moments of the field are read: nodes of a whole rectangle, else points inside the outline."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from scipy import sparse

from bimcheck.plate.hermite import Array, Each, Grid, Index, along, cubics, locate, patch, weights

GAUSS = 0.5 - np.sqrt(1 / 12)  # where a cubic's second derivative is most accurate in a cell
INWARD = 1e-6  # points of the outline are read just inside, in cells
ORDERS = ((0, 0), (2, 0), (0, 2), (1, 1))


@dataclass(frozen=True)
class Sampler:
    """points (p, 2) in plate units, (m, p, 2) where the grid is one of m; outline: which of them follow the outline;
    operators: (4, p by coefficients) sparse for w and its second derivatives xx, yy, xy, none for a whole rectangle,
    which is read at its nodes."""

    grid: Grid
    points: Array
    outline: Index
    operators: tuple[sparse.csr_matrix, ...]

    def read(self, fields: Array) -> tuple[Array, Array, Array, Array]:
        """w, w_xx, w_yy, w_xy (m, p) of fields (m, rows, columns); w without the rigid movement."""
        if not self.operators:
            return _at_nodes(self.grid, fields)
        flat = fields.reshape(len(fields), -1).T
        w, xx, yy, xy = (np.ascontiguousarray((operator @ flat).T) for operator in self.operators)
        return w, xx, yy, xy


def sampler(grid: Grid, polygon: shapely.Polygon) -> Sampler:
    """Sampling points of a plate that is no whole rectangle, and what reads fields there."""
    inside, outline = _inside(grid, polygon), outline_points(grid, polygon)
    points = np.concatenate([inside, outline])
    return Sampler(grid, points, len(inside) + np.arange(len(outline)), _operators(grid, points))


def at_nodes(grid: Grid) -> Sampler:
    """What reads whole rectangles, one or several of equal numbers of cells."""
    x, y = grid.nodes
    points = np.empty((*x.shape[:-1], grid.nx + 1, grid.ny + 1, 2))
    points[..., 0], points[..., 1] = x[..., :, None], y[..., None, :]
    return Sampler(grid, points.reshape(*x.shape[:-1], -1, 2), _frame(grid.nx, grid.ny), ())


def _operators(grid: Grid, points: Array) -> tuple[sparse.csr_matrix, ...]:
    at = locate(grid, points)
    columns = patch(at, grid.shape[1]).ravel()
    starts = np.arange(0, len(columns) + 1, 16)
    shape = (len(points), grid.shape[0] * grid.shape[1])
    return tuple(sparse.csr_matrix((weights(grid, at, *order).ravel(), columns, starts), shape=shape) for order in ORDERS)


def _at_nodes(grid: Grid, fields: Array) -> tuple[Array, Array, Array, Array]:
    m = len(fields)
    hx, hy = along(grid.hx, 3), along(grid.hy, 3)
    xx = curvature(grid.nx) @ fields[:, :, ::2] / hx**2
    yy = fields[:, ::2, :] @ curvature(grid.ny).T / hy**2
    xy = fields[:, 1::2, 1::2] / (hx * hy)
    return fields[:, ::2, ::2].reshape(m, -1), xx.reshape(m, -1), yy.reshape(m, -1), xy.reshape(m, -1)


@lru_cache(maxsize=64)
def curvature(cells: int) -> Array:
    """(cells + 1, 2 cells + 2) smoothed second derivative at the nodes of unit cells."""
    return smoothed(cells, np.arange(cells + 1.0))


def smoothed(cells: int, u: Array) -> Array:
    """(k, 2 cells + 2) second derivative at u (k,) in unit cells, by the cubic through the four Gauss points near it."""
    at = np.add.outer(np.arange(cells), [GAUSS, 1 - GAUSS]).ravel()
    raw = rows(cells, at, 2)
    near = 2 * np.clip(np.round(u).astype(int) - 1, 0, cells - 2)
    return np.stack([_lagrange(at[k : k + 4], x) @ raw[k : k + 4] for k, x in zip(near, u, strict=True)])


def rows(cells: int, u: Array, order: int = 0) -> Array:
    """(k, 2 cells + 2) derivatives at u (k,) in unit cells."""
    cell = np.clip(np.floor(u).astype(int), 0, cells - 1)
    out = np.zeros((len(u), 2 * cells + 2))
    out[np.arange(len(u))[:, None], 2 * cell[:, None] + np.arange(4)] = cubics(u - cell, order)
    return out


def _lagrange(at: Array, x: float) -> Array:
    others = ~np.eye(len(at), dtype=bool)
    return np.array([np.prod((x - at[o]) / (at[k] - at[o])) for k, o in enumerate(others)])


@lru_cache(maxsize=64)
def _frame(nx: int, ny: int) -> Index:
    """Nodes on the edge of a whole rectangle."""
    edge = np.ones((nx + 1, ny + 1), dtype=bool)
    edge[1:-1, 1:-1] = False
    return np.flatnonzero(edge)


def _inside(grid: Grid, polygon: shapely.Polygon) -> Array:
    """Gauss points of the cells that lie in the plate."""
    x, y = (np.add(lines[:-1, None], np.diff(lines)[:, None] * [GAUSS, 1 - GAUSS]).ravel() for lines in grid.nodes)
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    shapely.prepare(polygon)
    return points[shapely.contains_xy(polygon, points[:, 0], points[:, 1])]


def outline_points(grid: Grid, polygon: shapely.Polygon) -> Array:
    """Points along all rings a cell apart, corners included, moved just inside the plate."""
    turned = shapely.orient_polygons(polygon, exterior_cw=False)
    h = min(grid.hx, grid.hy)
    return np.concatenate([_along(np.asarray(r.coords)[:-1], h) for r in (turned.exterior, *turned.interiors)])


def _along(ring: Array, h: Each) -> Array:
    """Corners and points between them of a ring that has the plate to its left."""
    step = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(step[:, 0], step[:, 1])
    inward = np.column_stack([-step[:, 1], step[:, 0]]) / length[:, None]
    corners = ring + INWARD * h * (inward + np.roll(inward, 1, axis=0))
    pieces = np.maximum(np.ceil(length / h).astype(int), 1)
    edge = np.repeat(np.arange(len(ring)), pieces - 1)
    number = np.arange(len(edge)) - np.repeat(np.cumsum(pieces - 1) - (pieces - 1), pieces - 1) + 1
    between = ring[edge] + step[edge] * (number / pieces[edge])[:, None] + INWARD * h * inward[edge]
    return np.concatenate([corners, between])
