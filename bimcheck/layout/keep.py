"""What is drilled already: given positions are the only candidate of their panel, checked again and never moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.core.listed import panels_named, read
from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.layout.batch import Index, solved
from bimcheck.layout.final import outline_of
from bimcheck.layout.prove import Proof, Run
from bimcheck.layout.search import groups, ranked

_X, _Y = "x_rear_mm", "y_mm"


@dataclass(frozen=True)
class Kept:
    """panel (m,) row of each anchor; points (m, 2) in the panel frame seen from outside, mm.  unclear (n,): why positions
    of a panel cannot be told, blank elsewhere.  obstacles: rows of the bodies that are those anchors."""

    panel: Index
    points: Array
    unclear: NDArray
    obstacles: Index

    @property
    def there(self) -> NDArray[np.bool_]:
        """(n,) panels with positions."""
        return np.bincount(self.panel, minlength=len(self.unclear)).astype(bool)

    def reasons(self, reason: NDArray) -> NDArray:
        """Reasons for no layout: none where positions are given, why they cannot be told where that is so."""
        return np.where(self.unclear != "", self.unclear, np.where(self.there, "", reason))


def read_kept(path: Path, panels: Table, partial: bool = False) -> Kept:
    """Positions from a CSV with the columns of anchors.csv: panel_guid (or mark), x_rear_mm, y_mm.

    partial: other panels than those of the run may be listed.  Raises InputError for a file that cannot be read, a missing column, a number that is none, an unknown panel, or a
    position off the panel or given twice.
    """
    listed, panel = panels_named(read(path, (_X, _Y), "anchor positions", "[layout] keep"), panels, partial)
    x, y = (listed.numbers(k, "state millimetres") for k in (_X, _Y))
    points = np.column_stack([panels["width"][panel] - x, y])
    for k in _off(panels, panel, points)[:1]:
        listed.refuse(k, f"{x[k]:g}, {y[k]:g} is off the panel or in a cut-out", "count from the lower-left corner of the panel seen from the rear")
    for k in _twice(panel, points)[:1]:
        listed.refuse(k, f"a second anchor of one panel at {x[k]:g}, {y[k]:g}", "state each position once")
    order = np.argsort(panel, kind="stable")
    return Kept(panel[order], points[order], np.full(panels.n, "", dtype=object), np.empty(0, dtype=np.int64))


def _off(panels: Table, panel: Index, points: Array) -> list[int]:
    found = []
    for row, some in groups(panel):
        inside = shapely.contains_xy(outline_of(panels["outline"][row]), points[some])
        found += some[~inside].tolist()
    return sorted(found)


def _twice(panel: Index, points: Array) -> list[int]:
    """Rows within a tenth of a millimetre of an earlier one of the same panel."""
    keys = np.column_stack([panel, np.round(points * 10)])
    _, first = np.unique(keys, axis=0, return_index=True)
    return np.setdiff1d(np.arange(len(panel)), first).tolist()


def proven(run: Run, kept: Kept) -> Sequence[Proof]:
    """The kept layouts solved and judged, one proof an anchor count."""
    by_panel = groups(kept.panel)
    counts = np.array([len(rows) for _, rows in by_panel], dtype=np.int64)
    proofs = []
    for n, some in groups(counts):
        panel = np.array([by_panel[k][0] for k in some.tolist()], dtype=np.int64)
        points = np.stack([kept.points[by_panel[k][1]] for k in some.tolist()])
        batch = solved(run.classes, run.cls[panel], np.zeros((len(panel), 2), dtype=np.int64), points, run.solve)
        layout = np.arange(len(panel))
        verdict = run.judge.of(batch, panel, layout)
        proofs.append(Proof(batch, panel, layout, verdict.u, verdict.known, ranked(verdict, batch, layout),
                            np.zeros(len(panel), dtype=bool)))
        assert batch.n == n
    return proofs
