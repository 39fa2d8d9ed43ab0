"""Cells and outline: which cells are whole, cut or outside, and the moments of the cut ones."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.plate.element import DEGREE
from bimcheck.plate.hermite import Array, Grid, Index

_GAUSS_S, _GAUSS_W = np.polynomial.legendre.leggauss(DEGREE + 1)  # exact to degree 13, the edge terms' own


@dataclass(frozen=True)
class Cut:
    """cells: (m,) flat index of cells that are not whole; moments: (m, 7, 7), zero for cells outside."""

    cells: Index
    moments: Array


def cut_cells(grid: Grid, polygon: shapely.Polygon) -> Cut:
    """The cells of `grid` that `polygon` does not fill, with the moments of their part inside."""
    x, y = grid.nodes
    i, j = (k.ravel() for k in np.meshgrid(np.arange(grid.nx), np.arange(grid.ny), indexing="ij"))
    boxes = shapely.box(x[i], y[j], x[i + 1], y[j + 1])
    shapely.prepare(polygon)
    cells = np.flatnonzero(~shapely.covers(polygon, boxes))
    inside = shapely.intersection(boxes[cells], polygon)
    low, high = (np.column_stack([x[i + k], y[j + k]])[cells] for k in (0, 1))
    moments = _moments(inside, low, high - low)
    return Cut(cells, moments)


def _moments(parts: Array, corner: Array, size: Array) -> Array:
    """(m, 7, 7) integrals of s^p t^q over `parts` in the cells' own coordinates, cells from `corner` (m, 2) of `size`
    (m, 2); Green's theorem along the edges."""
    rings, owner = _rings(parts)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    local = (points - corner[owner[ring]]) / size[owner[ring]]
    edge = np.flatnonzero(ring[1:] == ring[:-1])
    start, end, cell = local[edge], local[edge + 1], owner[ring[edge]]
    along = 0.5 * (1 + _GAUSS_S)
    s = start[:, :1] + along * (end - start)[:, :1]
    t = start[:, 1:] + along * (end - start)[:, 1:]
    powers = np.arange(DEGREE + 1)
    in_s = s[..., None] ** (powers + 1) / (powers + 1) * (0.5 * _GAUSS_W[:, None])
    share = np.einsum("egp,egq->epq", in_s, t[..., None] ** powers) * (end - start)[:, 1, None, None]
    out = np.zeros((len(parts), DEGREE + 1, DEGREE + 1))
    np.add.at(out, cell, share)
    return out


def _rings(parts: Array) -> tuple[Array, Index]:
    """Rings of all polygons in `parts`, the plate always to their left, and the part each belongs to."""
    pieces, owner = shapely.get_parts(parts, return_index=True)
    keep = (shapely.get_type_id(pieces) == shapely.GeometryType.POLYGON) & (shapely.area(pieces) > 0)
    pieces, owner = shapely.orient_polygons(pieces[keep], exterior_cw=False), owner[keep]
    rings, piece = shapely.get_rings(pieces, return_index=True)
    return rings, owner[piece]
