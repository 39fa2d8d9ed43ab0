"""Plates whose layouts are read together: one of any outline, or whole rectangles of equal numbers of cells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from bimcheck.plate.corners import Corners, nowhere
from bimcheck.plate.edges import box_distance, edge_distance
from bimcheck.plate.hermite import Array, Grid, Index
from bimcheck.plate.samples import Sampler, at_nodes
from bimcheck.plate.shape import Plate


class Influence(Protocol):
    """What forces at points, and a unit pressure, do on one plate: deflections at the points, and whole fields."""

    @property
    def flexibility(self) -> Array: ...
    @property
    def pressed(self) -> Array: ...
    def fields(self, shares: Array, pressure: float) -> Array: ...


@dataclass(frozen=True, eq=False)
class Group:
    """plates, and which of them each of m layouts is on: of (m,).  grid, nu, size: of the one plate, or arrays (m,)."""

    plates: tuple[Plate, ...]
    of: Index

    @property
    def alone(self) -> bool:
        return len(self.plates) == 1

    @property
    def whole(self) -> bool:
        return self.plates[0].whole

    @cached_property
    def plate_grid(self) -> Grid:
        """The one grid, or those of the plates."""
        first = self.plates[0].grid
        if self.alone:
            return first
        hx, hy = (np.array([getattr(p.grid, k) for p in self.plates]) for k in ("hx", "hy"))
        return Grid(hx, hy, first.nx, first.ny)

    @cached_property
    def grid(self) -> Grid:
        return self.plate_grid.take(self.of)

    @cached_property
    def nu(self) -> Array | float:
        return self.plates[0].nu if self.alone else np.array([p.nu for p in self.plates])[self.of]

    @cached_property
    def size(self) -> Array | float:
        return self.plates[0].size if self.alone else np.array([p.size for p in self.plates])[self.of]

    @cached_property
    def sampler(self) -> Sampler:
        return self.plates[0].sampler if self.alone else at_nodes(self.grid)

    @cached_property
    def corners(self) -> Corners:
        return self.plates[0].corners if self.alone else nowhere(self.grid)

    @cached_property
    def static(self) -> Array:
        """(m, 3) work of the pressure on the rigid movements."""
        return np.array([p.static for p in self.plates])[self.of]

    def local(self, points: Array, owner: Index) -> Array:
        """Points (k, 2) in mm of layouts owner (k,) -> plate units."""
        if self.alone:
            return self.plates[0].local(points)
        origin = np.array([p.origin for p in self.plates])[self.of[owner]]
        return (points - origin) / np.asarray(self.size)[owner, None]

    def edge(self, points: Array, owner: Index) -> Array:
        """(k,) distance of points (k, 2) to the nearest edge, negative off the plate."""
        if self.alone:
            return edge_distance(self.plates[0].polygon, points)
        own = self.grid.take(owner)
        return box_distance(np.column_stack([own.hx * own.nx, own.hy * own.ny]), points)

    def parts(self, of_point: Index) -> list[Index]:
        """The points of each plate, from the plate of each point."""
        return [np.flatnonzero(of_point == k) for k in range(len(self.plates))]

    def influences(self, points: Array, parts: Sequence[Index], odd: NDArray[np.bool_]) -> list[Influence]:
        """What forces at points (k, 2) do, plate by plate; odd (plates, 2): parts of the field that layouts need."""
        return [plate.solver.influence(points[part], (bool(x), bool(y)))
                for plate, part, (x, y) in zip(self.plates, parts, odd, strict=True)]

    def fields(self, influences: Sequence[Influence], shares: Array, parts: Sequence[Index], pressure: float) -> Array:
        """(m, rows, columns) coefficients under the pressure and the reactions shares (points, m)."""
        out = np.empty((len(self.of), *self.plates[0].grid.shape))
        for k, (influence, points) in enumerate(zip(influences, parts, strict=True)):
            rows = np.flatnonzero(self.of == k)
            out[rows] = influence.fields(shares[np.ix_(points, rows)], pressure)
        return out


def grouped(plate: Plate | Group, layouts: int) -> Group:
    """A plate with all of so many layouts on it."""
    return plate if isinstance(plate, Group) else Group((plate,), np.zeros(layouts, dtype=np.int64))
