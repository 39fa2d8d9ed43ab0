"""The free plate of a grid as a banded matrix, and plates of any outline solved by it: pinned at three of their nodes.

The pins carry nothing once the anchors balance the load (see points.py), so one factorisation serves every layout.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.linalg import lapack

from bimcheck.core.errors import InputError
from bimcheck.plate.cut import Cut
from bimcheck.plate.element import FULL, full_stiffness, load, stiffness
from bimcheck.plate.hermite import Array, Grid, Index, locate, patch, weights
from bimcheck.plate.topology import Topology, topology

OUTSIDE = 1e-8  # stiffness left to what the outline cuts away, as a share of the plate's own


@dataclass(frozen=True, eq=False)
class Banded:
    """A factored plate.  factor: banded Cholesky factor (lower).  pressed: forward solution of a unit pressure."""

    grid: Grid
    top: Topology
    factor: Array
    pins: Index
    pressed: Array

    def influence(self, points: Array, odd: tuple[bool, bool]) -> Influence:
        """Forces at `points` (p, 2) in plate units; what layouts have in common is of no use here."""
        at = locate(self.grid, points)
        rows = self.top.number.ravel()[patch(at, self.top.number.shape[1])]
        forces = np.zeros((self.top.n, len(points)), order="F")
        np.add.at(forces, (rows, np.arange(len(points))[:, None, None]), weights(self.grid, at))
        forces[self.pins] = 0.0
        return Influence(self, half_solve(self.factor, forces))


@dataclass(frozen=True)
class Influence:
    """What forces at p points, and a unit pressure, do.  forward: (n, p) forward solutions of unit forces."""

    plate: Banded
    forward: Array

    @property
    def flexibility(self) -> Array:
        """(p, p) deflection at each point under a unit force at another."""
        return np.asarray(self.forward.T @ self.forward)

    @property
    def pressed(self) -> Array:
        """(p,) deflection at each point under a unit pressure."""
        return np.asarray(self.forward.T @ self.plate.pressed)

    def fields(self, shares: Array, pressure: float) -> Array:
        """(m, rows, columns) coefficients under a pressure and reactions shares (p, m)."""
        right = pressure * self.plate.pressed[:, None] - self.forward @ shares
        vectors = half_solve(self.plate.factor, right, transposed=True)
        return np.ascontiguousarray(vectors.T)[:, self.plate.top.number]


def banded(grid: Grid, top: Topology, cut: Cut | None, nu: float, pins: Index) -> Banded:
    """Factor a plate.  Raises InputError where it cannot be."""
    factor = factored(free_stiffness(grid, top, cut, nu), pins)
    pressure = pressure_on(grid, top, cut)
    pressure[pins] = 0.0
    return Banded(grid, top, factor, pins, half_solve(factor, pressure[:, None])[:, 0])


def free_stiffness(grid: Grid, top: Topology, cut: Cut | None, nu: float) -> Array:
    """(band + 1, n) lower band of the free plate's stiffness."""
    if cut is None:
        entries = top.full @ full_stiffness(grid.hx, grid.hy, nu)
    else:
        wide, high, slopes = _sides(grid)
        cells = full_stiffness(wide, high, nu)
        left = stiffness(cut.moments, wide[cut.cells], high[cut.cells], nu)
        cells[cut.cells] = OUTSIDE * cells[cut.cells] + (1 - OUTSIDE) * left
        cells = cells.reshape(-1, 16, 16) * slopes[:, :, None] * slopes[:, None, :]
        entries = np.bincount(top.entry.ravel(), cells.ravel(), len(top.place) + 1)[:-1]
    band = np.zeros((top.n, top.band + 1))
    band.ravel()[top.place] = entries
    return band.T


def _sides(grid: Grid) -> tuple[Array, Array, Array]:
    """Sides of all cells (nx ny,) and (nx ny, 16) what takes their coefficients to slopes times their own sides."""
    x, y = (np.diff(lines) for lines in grid.nodes)
    wide, high = np.repeat(x, grid.ny), np.tile(y, grid.nx)
    own_x, own_y = (np.where([False, True, False, True], side[:, None], 1.0) for side in (wide / grid.hx, high / grid.hy))
    return wide, high, (own_x[:, :, None] * own_y[:, None, :]).reshape(-1, 16)


def factored(band: Array, fixed: Index) -> Array:
    """Cholesky factor after the rows and columns of the `fixed` were replaced by those of the identity."""
    for pin in fixed:
        below = np.arange(min(len(band), pin + 1))
        band[below, pin - below] = 0.0
        band[:, pin] = 0.0
        band[0, pin] = 1.0
    factor, info = lapack.dpbtrf(band, lower=1, overwrite_ab=1)  # pyright: ignore[reportAttributeAccessIssue]
    if info:
        raise InputError("a plate that is too thin a sliver to solve", "plate", "correct the panel's outline")
    return factor


def half_solve(factor: Array, right: Array, transposed: bool = False) -> Array:
    if not right.shape[1]:
        return right  # LAPACK does not take an empty one
    solution, _ = lapack.dtbtrs(  # pyright: ignore[reportAttributeAccessIssue]
        factor, right, uplo="L", trans="T" if transposed else "N", overwrite_b=1)
    return solution


def pressure_work(grid: Grid, top: Topology, cut: Cut | None) -> tuple[Array, Array]:
    """Work of a unit pressure on every coefficient, and on the rigid movements 1, x, y."""
    pressure = pressure_on(grid, top, cut)
    return pressure, np.array([np.sum(pressure * mode) for mode in _rigid(grid, top)])


def pressure_on(grid: Grid, top: Topology, cut: Cut | None) -> Array:
    """(n,) work of a unit pressure on every coefficient."""
    if cut is None:
        return grid.hx * grid.hy * _unit_pressure(grid.nx, grid.ny)
    wide, high, slopes = _sides(grid)
    cells = (wide * high)[:, None] * slopes * load(FULL[None])
    cells[cut.cells] = (wide * high)[cut.cells, None] * slopes[cut.cells] * load(cut.moments)
    return np.bincount(top.cells.ravel(), cells.ravel(), top.n)


@lru_cache(maxsize=64)
def _unit_pressure(nx: int, ny: int) -> Array:
    """(n,) the same on cells of area 1."""
    top = topology(nx, ny)
    return np.bincount(top.cells.ravel(), np.tile(load(FULL[None])[0], len(top.cells)), top.n)


def _rigid(grid: Grid, top: Topology) -> Array:
    """(3, n) coefficients of the rigid movements 1, x, y."""
    x, y = grid.nodes
    value_x, value_y = np.zeros(grid.shape[0]), np.zeros(grid.shape[1])
    value_x[::2], value_y[::2] = 1.0, 1.0
    along_x, along_y = value_x.copy(), value_y.copy()
    along_x[::2], along_x[1::2] = x, grid.hx
    along_y[::2], along_y[1::2] = y, grid.hy
    modes = np.empty((3, top.n))
    for mode, (a, b) in zip(modes, ((value_x, value_y), (along_x, value_y), (value_x, along_y)), strict=True):
        mode[top.number] = np.outer(a, b)
    return modes
