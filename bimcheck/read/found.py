"""What a body turned out to be: the plane frame, outline and thickness of a plate, or why it is none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged

Floats = NDArray[Any]  # of float64
HUGE = 1e8  # mm; no body is 100 km long
FLAT = 0.01  # mm; thinner than this is no thickness
NO_BODY, ZERO, DEGENERATE, NO_PLATE, PLATE = "no-geometry", "zero-thickness", "degenerate-geometry", "no-plate", ""


@dataclass
class Found:
    """Arrays over n bodies, in each body's own frame, mm.

    state: "" for a plate, else one of the words above.  outline: (k, 3) x, y, ring of the face at `origin`; back: the same
    for the parallel face where it differs.  size: (n, 3) extents along u, v, n.  other: a second reading of a body whose
    faces are not parallel, seen from its other face.
    """

    n_rows: int
    state: NDArray[np.object_] = field(init=False)
    origin: Floats = field(init=False)
    u: Floats = field(init=False)
    v: Floats = field(init=False)
    n: Floats = field(init=False)
    thickness: Floats = field(init=False)
    thickness_max: Floats = field(init=False)
    sagitta: Floats = field(init=False)
    form: NDArray[np.object_] = field(init=False)
    outline: list[Floats] = field(init=False)
    back: list[Floats] = field(init=False)
    other: dict[int, Odd] = field(init=False)

    def __post_init__(self) -> None:
        n = self.n_rows
        self.state = np.full(n, NO_BODY, dtype=object)
        self.origin, self.u, self.v, self.n = (np.full((n, 3), np.nan) for _ in range(4))
        self.thickness, self.thickness_max = np.full(n, np.nan), np.full(n, np.nan)
        self.sagitta = np.zeros(n)
        self.form = np.full(n, "", dtype=object)
        self.outline = [EMPTY] * n
        self.back = [EMPTY] * n
        self.other = {}

    def put(self, rows: NDArray[np.int64], axes: Sequence[Floats], thickness: Floats, outline: Sequence[Floats]) -> None:
        """Flat plates: axes = origin, u, v, n."""
        self.origin[rows], self.u[rows], self.v[rows], self.n[rows] = axes
        self.thickness[rows] = self.thickness_max[rows] = thickness
        self.state[rows], self.form[rows] = PLATE, "flat"
        for row, ring in zip(rows.tolist(), outline, strict=True):
            self.outline[row] = ring

    def put_odd(self, row: int, odd: Odd) -> None:
        self.state[row], self.form[row] = PLATE, odd.form
        self.origin[row], self.u[row], self.v[row], self.n[row] = odd.origin, odd.u, odd.v, odd.n
        self.thickness[row], self.thickness_max[row], self.sagitta[row] = odd.thickness, odd.thickness_max, odd.sagitta
        self.outline[row], self.back[row] = odd.outline, odd.back

    def extents(self) -> tuple[Floats, Floats]:
        """(n,) extents of the outline along u and v, nan without one."""
        ragged = Ragged.of(self.outline, (3,))
        out = np.full((2, self.n_rows), np.nan)
        some = np.flatnonzero(ragged.lengths > 0)
        if len(some):
            starts = ragged.offsets[:-1][some]
            for k in (0, 1):
                values = ragged.values[:, k]
                out[k, some] = np.maximum.reduceat(values, starts) - np.minimum.reduceat(values, starts)
        return out[0], out[1]


@dataclass(frozen=True)
class Odd:
    """One body that is no plain plate: curved, tapered or folded."""

    form: str
    origin: Floats
    u: Floats
    v: Floats
    n: Floats
    thickness: float
    thickness_max: float
    outline: Floats
    back: Floats
    sagitta: float = 0.0


EMPTY: Floats = np.empty((0, 3))
