"""Plates of an outline with cut-outs, ready for any layout: whole rectangles by their mirror lines, others by one band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.core.errors import InputError
from bimcheck.plate.banded import Banded, banded, pressure_work
from bimcheck.plate.corners import Corners, nowhere, reentrant, sharp
from bimcheck.plate.cut import Cut, cut_cells
from bimcheck.plate.edges import is_box
from bimcheck.plate.hermite import Array, Grid, Index
from bimcheck.plate.lines import lines_along
from bimcheck.plate.mirrored import Mirrored
from bimcheck.plate.samples import Sampler, at_nodes, sampler
from bimcheck.plate.topology import Topology, topology

CELLS, CELLS_CUT = 24, 32  # along the longest side, of a whole rectangle and of other outlines
FEWEST = 8  # along the shorter side


@dataclass(frozen=True)
class Plate:
    """A free plate in units of its longest side, D = 1.

    origin, size: lower-left corner and longest side of the bounding rectangle in mm.  polygon: outline in plate units.
    static: (3,) work of a unit pressure on the rigid movements 1, x, y.  whole: True where no cell is cut.  sampler,
    corners: where fields are read.
    """

    origin: Array
    size: float
    nu: float
    polygon: shapely.Polygon
    grid: Grid
    solver: Banded | Mirrored
    static: Array
    whole: bool
    sampler: Sampler
    corners: Corners

    def local(self, points: Array) -> Array:
        """Points in mm -> plate units."""
        return (np.asarray(points, dtype=float) - self.origin) / self.size


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
    if whole:
        grid = Grid(width / nx, height / ny, nx, ny)
        quarter = Mirrored(Grid(grid.hx, grid.hy, nx // 2, ny // 2), nu)
        static = width * height * np.array([1.0, width / 2, height / 2])
        return Plate(origin, size, nu, polygon, grid, quarter, static, True, at_nodes(grid), nowhere(grid))
    grid = _following(polygon, (width, height), (nx, ny))
    top, cut = topology(grid.nx, grid.ny), cut_cells(grid, polygon)
    solver = banded(grid, top, cut, nu, _pins(grid, top, cut))
    return Plate(origin, size, nu, polygon, grid, solver, pressure_work(grid, top, cut)[1], False,
                 sampler(grid, polygon), reentrant(grid, polygon, nu))


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


def _pins(grid: Grid, top: Topology, cut: Cut) -> Index:
    """Deflections of three nodes far apart on whole cells (any cell of the plate where none is whole)."""
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
