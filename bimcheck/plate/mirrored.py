"""A whole rectangle by its two mirror lines: one quarter carries the four parts of a field that are even or odd across them.

A force at p is folded into the lower left quarter with a sign for each part; the quarter's own forces are a quarter of
it.  A part that no layout on the plate can have, because all are symmetric, is not solved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from bimcheck.plate.banded import factored, free_stiffness, half_solve, pressure_on
from bimcheck.plate.hermite import Array, Grid, Index, locate, patch, weights
from bimcheck.plate.topology import Topology, topology

SAME = 1e-9  # plate units: folded places nearer than this are one
Part = tuple[bool, bool]  # odd across the line x = middle, and across y = middle


@dataclass(frozen=True, eq=False)
class Mirrored:
    """A free rectangle; grid: the cells of its lower left quarter."""

    grid: Grid
    nu: float

    @property
    def top(self) -> Topology:
        return topology(self.grid.nx, self.grid.ny)

    @cached_property
    def stiffness(self) -> Array:
        return free_stiffness(self.grid, self.top, None, self.nu)

    def influence(self, points: Array, odd: tuple[bool, bool]) -> Influence:
        """Forces at `points` (p, 2); odd: whether layouts need the parts that are odd in x, in y."""
        side = np.array([self.grid.hx * self.grid.nx, self.grid.hy * self.grid.ny])
        beyond = points > side
        folded = np.where(beyond, 2 * side - points, points)
        _, first, place = np.unique(np.round(folded / SAME) @ [1.0, 4 / SAME], return_index=True, return_inverse=True)
        at = locate(self.grid, folded[first])
        rows = self.top.number.ravel()[patch(at, self.top.number.shape[1])]
        forces = np.zeros((self.top.n, len(first) + 1), order="F")
        np.add.at(forces, (rows, np.arange(len(first))[:, None, None]), weights(self.grid, at))
        forces[:, -1] = pressure_on(self.grid, self.top, None)
        sign = np.where(beyond, -1.0, 1.0)
        return Influence(self.top, place, [self._part(p, forces, sign) for p in parts(odd)])

    def _part(self, odd: Part, forces: Array, sign: Array) -> Solved:
        fixed = held(self.top, odd)
        factor = factored(self.stiffness.copy(order="F"), fixed)
        own = forces[:, : forces.shape[1] - any(odd)].copy(order="F")
        own[fixed] = 0.0
        return Solved(odd, factor, half_solve(factor, own), np.prod(np.where(odd, sign, 1.0), axis=1))


def parts(odd: tuple[bool, bool]) -> list[Part]:
    """The part even across both lines, and the odd ones that are needed."""
    return [(x, y) for x in (False, True)[: 1 + odd[0]] for y in (False, True)[: 1 + odd[1]]]


@lru_cache(maxsize=256)
def _held(nx: int, ny: int, odd: Part) -> Index:
    """On a mirror line an even part has no slope across it, an odd one no value; a rigid movement is pinned at the corner."""
    number = topology(nx, ny).number
    lines = [number[-2 if odd[0] else -1], number[:, -2 if odd[1] else -1]]
    pin = [] if all(odd) else [number[0, 0]]
    return np.unique(np.concatenate([*lines, np.array(pin, dtype=np.int64)]))


def held(top: Topology, odd: Part) -> Index:
    return _held(top.number.shape[0] // 2 - 1, top.number.shape[1] // 2 - 1, odd)


@dataclass(frozen=True)
class Solved:
    """One part: its factor, forward solutions (n, q) of unit forces at the folded places (the even part also of the
    pressure, last), and the sign (p,) of each point in it."""

    odd: Part
    factor: Array
    forward: Array
    sign: Array


@dataclass(frozen=True)
class Influence:
    """What forces at p points, and a unit pressure, do.  place (p,): folded place of each point."""

    top: Topology
    place: Index
    solved: Sequence[Solved]

    @property
    def flexibility(self) -> Array:
        """(p, p) deflection at each point under a unit force at another."""
        out = np.zeros((len(self.place), len(self.place)))
        for part in self.solved:
            own = part.forward[:, : self._places]
            out += (own.T @ own)[np.ix_(self.place, self.place)] * np.multiply.outer(part.sign, part.sign) / 4
        return out

    @property
    def pressed(self) -> Array:
        """(p,) deflection at each point under a unit pressure."""
        even = self.solved[0].forward
        return (even[:, :-1].T @ even[:, -1])[self.place]

    @property
    def _places(self) -> int:
        return self.solved[0].forward.shape[1] - 1

    def fields(self, shares: Array, pressure: float) -> Array:
        """(m, rows, columns) coefficients of the whole rectangle under a pressure and reactions shares (p, m)."""
        quarter = {part.odd: self._quarter(part, shares, pressure) for part in self.solved}
        sums = [_unfolded(quarter[x, False], quarter.get((x, True)), axis=2) for x in (False, True) if (x, False) in quarter]
        return _unfolded(*sums, *[None][len(sums) - 1 :], axis=1)

    def _quarter(self, part: Solved, shares: Array, pressure: float) -> Array:
        folded = np.zeros((self._places, shares.shape[1]))
        np.add.at(folded, self.place, part.sign[:, None] * shares / 4)
        right = part.forward[:, : self._places] @ -folded
        if not any(part.odd):
            right += pressure * part.forward[:, -1:]
        vectors = half_solve(part.factor, np.asfortranarray(right), transposed=True)
        return np.ascontiguousarray(vectors.T)[:, self.top.number]


def _unfolded(even: Array, odd: Array | None, axis: int) -> Array:
    """Coefficients over the whole length of an axis from those of its first half, up to the mirror line."""
    straight = even if odd is None else even + odd
    image = even if odd is None else even - odd
    k = even.shape[axis] // 2 - 1  # nodes before the line
    back = (2 * np.arange(k - 1, -1, -1)[:, None] + np.arange(2)).ravel()
    sense = np.tile([1.0, -1.0], k).reshape((-1,) + (1,) * (even.ndim - 1 - axis))  # slopes turn about
    return np.concatenate([straight, np.take(image, back, axis=axis) * sense], axis=axis)
