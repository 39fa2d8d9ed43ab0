"""What is drilled already: given positions are the only candidate of their panel, checked again and never moved."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.layout.batch import Index, solved
from bimcheck.layout.prove import Proof, Run
from bimcheck.layout.search import groups, ranked

_X, _Y = "x_rear_mm", "y_mm"


@dataclass(frozen=True)
class Kept:
    """panel (m,) row of each anchor; points (m, 2) in the panel frame seen from outside, mm."""

    panel: Index
    points: Array

    def panels(self, n: int) -> NDArray[np.bool_]:
        return np.bincount(self.panel, minlength=n).astype(bool)


def read_kept(path: Path, panels: Table) -> Kept:
    """Positions from a CSV with the columns of anchors.csv: panel_guid (or mark), x_rear_mm, y_mm.

    Raises InputError for a file that cannot be read, a missing column, a number that is none, or an unknown panel.
    """
    rows = list(_rows(path))
    panel = np.array([_panel(r, _where(panels), path) for r in rows], dtype=np.int64)
    x, y = (np.array([_number(r, k, path) for r in rows]) for k in (_X, _Y))
    order = np.argsort(panel, kind="stable")
    points = np.column_stack([panels["width"][panel] - x, y]) if rows else np.empty((0, 2))
    return Kept(panel[order], points[order])


def _rows(path: Path) -> Iterator[dict[str, str]]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.DictReader(file))
    except (OSError, UnicodeDecodeError, csv.Error) as problem:
        raise InputError(f"anchor positions cannot be read: {problem}", str(path), "check [layout] keep") from problem
    for column in (_X, _Y):
        if rows and column not in rows[0]:
            raise InputError(f"no column {column}", str(path), "use the columns of anchors.csv: panel_guid, x_rear_mm, y_mm")
    yield from rows


def _where(panels: Table) -> dict[tuple[str, str], int]:
    keys = {(kind, str(v)): i for kind in ("mark", "guid") if kind in panels for i, v in enumerate(panels[kind]) if v}
    if {"guid", "step_id"} <= set(panels):
        keys |= {("both", f"{g}/{s}"): i for i, (g, s) in enumerate(zip(panels["guid"], panels["step_id"], strict=True))}
    return keys


def _panel(row: dict[str, str], where: dict[tuple[str, str], int], path: Path) -> int:
    guid = row.get("panel_guid") or row.get("guid") or ""
    tries = (("both", f"{guid}/{row.get('panel_step_id', '')}"), ("guid", guid), ("mark", row.get("mark") or ""))
    for key in tries:
        if key in where:
            return where[key]
    raise InputError(f"no panel {guid or row.get('mark')}", str(path), "remove its rows, or leave [layout] keep blank")


def _number(row: dict[str, str], column: str, path: Path) -> float:
    try:
        value = float(row[column])
    except (TypeError, ValueError):
        value = float("nan")
    if not np.isfinite(value):
        raise InputError(f"'{row[column]}' in {column} is no number", str(path), "state millimetres")
    return value


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
