"""A factored shape: the free plate of an outline with cut-outs, pinned at three of its nodes.

The pins carry nothing once the anchors balance the load (see points.py), so one factorisation serves every layout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.linalg import lapack

from bimcheck.core.errors import InputError
from bimcheck.plate.corners import Corners, nowhere, reentrant, sharp
from bimcheck.plate.cut import Cut, cut_cells
from bimcheck.plate.edges import is_box
from bimcheck.plate.element import FULL, full_stiffness, load, stiffness
from bimcheck.plate.hermite import Array, Grid, Index, locate, patch, weights
from bimcheck.plate.lines import lines_along
from bimcheck.plate.samples import Sampler, sampler
from bimcheck.plate.topology import Topology, topology

OUTSIDE = 1e-8  # stiffness left to what the outline cuts away, as a share of the plate's own
CELLS, CELLS_CUT = 24, 32  # along the longest side, of a whole rectangle and of other outlines
FEWEST = 8  # along the shorter side



@dataclass(frozen=True)
class Plate:
    """A free plate in units of its longest side, D = 1, factored.

    origin, size: lower-left corner and longest side of the bounding rectangle in mm.  polygon: outline in plate units.
    factor: banded Cholesky factor (lower).  pressed: forward solution of a unit pressure.  static: (3,) its work on the
    rigid movements 1, x, y.  whole: True where no cell is cut.  sampler, corners: where fields are read.
    """

    origin: Array
    size: float
    nu: float
    polygon: shapely.Polygon
    grid: Grid
    topology: Topology
    factor: Array
    pins: Index
    pressed: Array
    static: Array
    whole: bool
    sampler: Sampler
    corners: Corners

    def local(self, points: Array) -> Array:
        """Points in mm -> plate units."""
        return (np.asarray(points, dtype=float) - self.origin) / self.size

    def forward(self, points: Array) -> Array:
        """(n, p) forward solutions of unit forces at `points` (p, 2) in plate units."""
        at = locate(self.grid, points)
        rows = self.topology.number.ravel()[patch(at, self.topology.number.shape[1])]
        forces = np.zeros((self.topology.n, len(points)), order="F")
        np.add.at(forces, (rows, np.arange(len(points))[:, None, None]), weights(self.grid, at))
        forces[self.pins] = 0.0
        return half_solve(self.factor, forces)

    def backward(self, solution: Array) -> Array:
        """(n, m) coefficients from combined forward solutions."""
        return half_solve(self.factor, solution, transposed=True)


def build(rings: Sequence[Array], nu: float, cells: int | None = None) -> Plate:
    """Factor the plate of an outline (first ring) with cut-outs (further rings); rings are (k, 2) in mm, not closed.

    nu: Poisson's ratio.  cells: along the longest side, by default 24, or 32 where the outline
    cuts cells.  Raises InputError for an outline that is no simple polygon.
    """
    if not 0 <= nu < 0.5:  # nan too
        raise InputError(f"Poisson's ratio {nu}", "plate", "give the material one from 0 to below 0.5")
    origin, size, polygon = _normalise(rings)
    width, height = shapely.bounds(polygon)[2:]
    whole = is_box(polygon)
    cells = cells or (CELLS if whole else CELLS_CUT)
    nx, ny = even_cells(width, height, cells)
    grid = Grid(width / nx, height / ny, nx, ny) if whole else _following(polygon, (width, height), (nx, ny))
    top = topology(grid.nx, grid.ny)
    cut = None if whole else cut_cells(grid, polygon)
    pins = _pins(grid, top, cut)
    factor = factored(free_stiffness(grid, top, cut, nu), pins)
    pressure, static = pressure_work(grid, top, cut)
    pressure[pins] = 0.0
    return Plate(origin, size, nu, polygon, grid, top, factor, pins,
                 half_solve(factor, pressure[:, None])[:, 0], static, whole,
                 sampler(grid, polygon, whole), nowhere(grid) if whole else reentrant(grid, polygon, nu))


def even_cells(width: float, height: float, cells: int) -> tuple[int, int]:
    """Cells along sides in plate units, even so that a line runs through the middle."""
    nx, ny = (max(FEWEST, 2 * round(cells * side / 2)) for side in (width, height))
    return nx, ny


def _following(polygon: shapely.Polygon, sides: tuple[float, float], cells: tuple[int, int]) -> Grid:
    """An uneven grid along the edges and closer at re-entrant corners; its average cell is that of the even one."""
    at, _, _ = sharp(polygon)
    x, y = (lines_along(polygon, k, n, at[:, k]) for k, n in enumerate(cells))
    return Grid(sides[0] / cells[0], sides[1] / cells[1], len(x) - 1, len(y) - 1, x, y)


def _normalise(rings: Sequence[Array]) -> tuple[Array, float, shapely.Polygon]:
    outer = np.asarray(rings[0], dtype=float)
    if len(outer) < 3:
        raise InputError("an outline of fewer than three points", "plate", "correct the panel's outline")
    origin = outer.min(axis=0)
    size = float((outer.max(axis=0) - origin).max())
    if not size > 0 or not np.isfinite(size):
        raise InputError("an outline without extent", "plate", "correct the panel's outline")
    polygon = shapely.Polygon((outer - origin) / size, [(np.asarray(r) - origin) / size for r in rings[1:]])
    if not polygon.is_valid or polygon.area <= 0:
        raise InputError(f"an outline that is no simple polygon ({shapely.is_valid_reason(polygon)})", "plate",
                         "correct the panel's outline")
    return origin, size, shapely.simplify(polygon, 0.0)


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
    if cut is None:
        cells = np.broadcast_to(grid.hx * grid.hy * load(FULL[None]), (len(top.cells), 16))
    else:
        wide, high, slopes = _sides(grid)
        cells = (wide * high)[:, None] * slopes * load(FULL[None])
        cells[cut.cells] = (wide * high)[cut.cells, None] * slopes[cut.cells] * load(cut.moments)
    pressure = np.bincount(top.cells.ravel(), cells.ravel(), top.n)
    return pressure, np.array([np.sum(pressure * mode) for mode in _rigid(grid, top)])


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


def _pins(grid: Grid, top: Topology, cut: Cut | None) -> Index:
    """Deflections of three nodes far apart on whole cells (any cell of the plate where none is whole)."""
    if cut is None:
        return top.number[[0, -2, 0], [0, 0, -2]]
    cells = _solid(grid, cut)
    i, j = cells // grid.ny, cells % grid.ny
    i, j = (np.concatenate([k, k + 1]) for k in (i, j))
    x, y = (lines[k] for lines, k in zip(grid.nodes, (i, j), strict=True))
    first = int(np.argmin(x + y))
    second = int(np.argmax(np.hypot(x - x[first], y - y[first])))
    twice_area = (x - x[first]) * (y[second] - y[first]) - (y - y[first]) * (x[second] - x[first])
    third = int(np.argmax(np.abs(twice_area)))
    chosen = [first, second, third]
    return top.number[2 * i[chosen], 2 * j[chosen]]


def _solid(grid: Grid, cut: Cut) -> Index:
    share = np.ones(grid.nx * grid.ny)
    share[cut.cells] = cut.moments[:, 0, 0]
    return np.flatnonzero(share >= min(0.999, share.max()))
