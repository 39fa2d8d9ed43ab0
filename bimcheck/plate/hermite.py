"""Bicubic Hermite functions on a rectangular grid (the Bogner-Fox-Schmit plate element).

A field is stored as coefficients over tensor degrees of freedom: along each axis node i owns the value (2 i) and the
slope times the average cell length (2 i + 1), so that all coefficients have the unit of the deflection.
Source: Bogner, Fox, Schmit, "The generation of inter-element-compatible stiffness and mass matrices by the use of
interpolation formulas", 1965.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Index = NDArray[Any]
Each = Any  # a number, or an array (k,) of one a row

# Row a: coefficients of 1, s, s^2, s^3 of the cubic that is 1 in degree of freedom a of a unit cell and 0 in the rest.
CUBICS = np.array([[1, 0, -3, 2], [0, 1, -2, 1], [0, 0, 3, -2], [0, 0, -1, 1]], dtype=float)

_LOWER = np.diag([1.0, 2.0, 3.0], -1)  # coefficients of a polynomial -> those of its derivative
# [order]: (4, 4) powers of s -> the four cubics' derivative.
DERIVATIVES = np.stack([(CUBICS @ np.linalg.matrix_power(_LOWER, order)).T for order in range(3)])


@dataclass(frozen=True)
class Grid:
    """nx by ny cells from the origin, hx by hy on average.  x, y: the lines of an uneven grid, None where it is even.

    Even grids of equal numbers of cells stand in one Grid with arrays hx, hy (k,): the first axis of what is asked of it
    then runs over the grids.
    """

    hx: Each
    hy: Each
    nx: int
    ny: int
    x: Array | None = None
    y: Array | None = None

    @property
    def shape(self) -> tuple[int, int]:
        """Tensor degrees of freedom along x and y."""
        return 2 * (self.nx + 1), 2 * (self.ny + 1)

    @property
    def nodes(self) -> tuple[Array, Array]:
        return (np.multiply.outer(self.hx, np.arange(self.nx + 1)) if self.x is None else self.x,
                np.multiply.outer(self.hy, np.arange(self.ny + 1)) if self.y is None else self.y)

    @property
    def size(self) -> Each:
        """The longer side of an average cell."""
        return np.maximum(self.hx, self.hy)

    def take(self, rows: Index) -> Grid:
        """The grids of rows; one alone is that of all rows."""
        return Grid(self.hx[rows], self.hy[rows], self.nx, self.ny) if isinstance(self.hx, np.ndarray) else self


def along(values: Each, axes: int) -> Each:
    """Values a row (k,), or one for all, so that they go with arrays of so many axes."""
    return values.reshape(-1, *([1] * (axes - 1))) if isinstance(values, np.ndarray) else values


def cubics(s: Array, order: int = 0) -> Array:
    """(..., 4) derivatives of the four cubics with respect to s in [0, 1]."""
    powers = np.empty((*np.shape(s), 4))
    powers[..., 0] = 1.0
    powers[..., 1] = s
    np.multiply(s, s, out=powers[..., 2])
    np.multiply(powers[..., 2], s, out=powers[..., 3])
    return powers @ DERIVATIVES[order]


@dataclass(frozen=True)
class Located:
    """Points found in a grid: the first tensor degree of freedom of their cell, the place in it, and the cell's sides
    over the average ones (None in an even grid)."""

    i: Index
    j: Index
    s: Array
    t: Array
    wide: Array | None
    high: Array | None


def locate(grid: Grid, points: Array) -> Located:
    """Cells of `points` (..., 2); a point on a line belongs to the cell beyond, one outside to the nearest cell."""
    i, s, wide = _place(points[..., 0], grid.hx, grid.nx, grid.x)
    j, t, high = _place(points[..., 1], grid.hy, grid.ny, grid.y)
    return Located(2 * i, 2 * j, s, t, wide, high)


def _place(at: Array, h: Each, n: int, lines: Array | None) -> tuple[Index, Array, Array | None]:
    if lines is None:
        u = at / along(h, at.ndim)
        i = np.maximum(np.minimum(u, n - 1), 0).astype(np.int64)
        return i, u - i, None
    i = np.clip(np.searchsorted(lines, at, side="right") - 1, 0, n - 1)
    step = np.diff(lines)[i]
    return i, (at - lines[i]) / step, step / along(h, at.ndim)


def weights(grid: Grid, at: Located, dx: int = 0, dy: int = 0) -> Array:
    """(..., 4, 4) weights of the cell's 16 coefficients in the derivative of order dx, dy at the points."""
    along_x, along_y = _along(at.s, dx, grid.hx, at.wide), _along(at.t, dy, grid.hy, at.high)
    return along_x[..., :, None] * along_y[..., None, :]


def _along(s: Array, order: int, h: Each, ratio: Array | None) -> Array:
    """(..., 4) weights along one axis; slopes are kept times the average cell, in a cell `ratio` times as long."""
    values = cubics(s, order)
    if order:
        values /= along(h, s.ndim + 1) ** order
    if ratio is None:
        return values
    values /= (ratio**order)[..., None]
    values[..., 1::2] *= ratio[..., None]
    return values


def patch(at: Located, columns: int) -> Index:
    """(..., 4, 4) flat index of the cell's coefficients in a field with `columns` tensor columns."""
    rows = at.i[..., None] + np.arange(4)
    return rows[..., :, None] * columns + (at.j[..., None] + np.arange(4))[..., None, :]
