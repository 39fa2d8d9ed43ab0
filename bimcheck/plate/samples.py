"""Where deflection and moments of the field are read: nodes of a whole rectangle, else points inside the outline."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from scipy import sparse

from bimcheck.plate.hermite import Array, Grid, Index, cubics, locate, patch, weights
from bimcheck.plate.response import Response
from bimcheck.plate.shape import Plate

GAUSS = 0.5 - np.sqrt(1 / 12)  # where a cubic's second derivative is most accurate in a cell
INWARD = 1e-6  # points of the outline are read just inside, in cells


@dataclass(frozen=True)
class Field:
    """Deflection (m, p) and second derivatives xx, yy, xy (m, p) of m layouts at p points (p, 2).

    outline: which of the points follow the outline.
    """

    points: Array
    outline: Index
    w: Array
    xx: Array
    yy: Array
    xy: Array


def read(plate: Plate, fields: Array) -> Field:
    """Read fields (m, rows, columns) in tensor order; deflections without the rigid movement."""
    return _at_nodes(plate.grid, fields) if plate.whole else _at_points(plate, fields)


def _at_nodes(grid: Grid, fields: Array) -> Field:
    m = len(fields)
    x, y = grid.nodes
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    xx = curvature(grid.nx) @ fields[:, :, ::2] / grid.hx**2
    yy = fields[:, ::2, :] @ curvature(grid.ny).T / grid.hy**2
    xy = fields[:, 1::2, 1::2] / (grid.hx * grid.hy)
    return Field(points, _frame(grid.nx, grid.ny), fields[:, ::2, ::2].reshape(m, -1), *(f.reshape(m, -1) for f in (xx, yy, xy)))


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


def _at_points(plate: Plate, fields: Array) -> Field:
    inside, outline = _inside(plate), outline_points(plate)
    points = np.concatenate([inside, outline])
    at = locate(plate.grid, points)
    columns = patch(at, plate.grid.shape[1]).reshape(-1)
    starts = np.arange(0, len(columns) + 1, 16)
    flat = fields.reshape(len(fields), -1).T
    size = (len(points), flat.shape[0])
    read_off = [
        (sparse.csr_matrix((weights(plate.grid, at, *order).reshape(-1), columns, starts), shape=size) @ flat).T
        for order in ((0, 0), (2, 0), (0, 2), (1, 1))
    ]
    return Field(points, len(inside) + np.arange(len(outline)), *read_off)


def _inside(plate: Plate) -> Array:
    """Gauss points of the cells that lie in the plate."""
    grid = plate.grid
    x, y = (
        origin + size * np.add.outer(np.arange(n), [GAUSS, 1 - GAUSS]).ravel()
        for origin, size, n in ((grid.x0, grid.hx, grid.nx), (grid.y0, grid.hy, grid.ny))
    )
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    return points[shapely.contains_xy(plate.polygon, points[:, 0], points[:, 1])]


def outline_points(plate: Plate) -> Array:
    """Points along all rings a cell apart, corners included, moved just inside the plate."""
    h = min(plate.grid.hx, plate.grid.hy)
    polygon = shapely.orient_polygons(plate.polygon, exterior_cw=False)
    return np.concatenate([_along(np.asarray(r.coords)[:-1], h) for r in (polygon.exterior, *polygon.interiors)])


@lru_cache(maxsize=64)
def _frame(nx: int, ny: int) -> Index:
    """Nodes on the edge of a whole rectangle."""
    edge = np.ones((nx + 1, ny + 1), dtype=bool)
    edge[1:-1, 1:-1] = False
    return np.flatnonzero(edge)


def _along(ring: Array, h: float) -> Array:
    """Corners and points between them of a ring that has the plate to its left."""
    step = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(*step.T)
    inward = np.column_stack([-step[:, 1], step[:, 0]]) / length[:, None]
    corners = ring + INWARD * h * (inward + np.roll(inward, 1, axis=0))
    pieces = np.maximum(np.ceil(length / h).astype(int), 1)
    edge = np.repeat(np.arange(len(ring)), pieces - 1)
    number = np.arange(len(edge)) - np.repeat(np.cumsum(pieces - 1) - (pieces - 1), pieces - 1) + 1
    between = ring[edge] + step[edge] * (number / pieces[edge])[:, None] + INWARD * h * inward[edge]
    return np.concatenate([corners, between])


def moments_at(response: Response, points: Array) -> Array:
    """(k, 3) Mx, My, Mxy of the only layout of `response` at points (k, 2) in plate units."""
    if not response.plate.whole:
        return response.moments(points[None], np.zeros(1, dtype=np.int64))[0]
    grid, nu = response.plate.grid, response.plate.nu
    u, v = ((points[:, k] - o) / h for k, o, h in ((0, grid.x0, grid.hx), (1, grid.y0, grid.hy)))

    def read_off(along_x: Array, along_y: Array) -> Array:
        return np.einsum("ki,ij,kj->k", along_x, response.fields[0], along_y)

    xx = read_off(smoothed(grid.nx, u), rows(grid.ny, v)) / grid.hx**2
    yy = read_off(rows(grid.nx, u), smoothed(grid.ny, v)) / grid.hy**2
    xy = read_off(rows(grid.nx, u, 1), rows(grid.ny, v, 1)) / (grid.hx * grid.hy)
    return -np.stack([xx + nu * yy, yy + nu * xx, (1 - nu) * xy], axis=-1)
