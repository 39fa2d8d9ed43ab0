"""Issues as the rows that people read: names of panels and bodies put beside each finding."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table

TEXTS = ("guid", "mark", "name", "model", "storey", "facade")


def describe(issues: Table, elements: Table) -> Table:
    """The table `issues` with the columns of issues.csv but for issue and state.

    issues: of `core.issue`; panel and other_panel are rows of elements (-1: none).  Lengths in mm become m for the
    place only; measured, required and shortfall keep the issue's unit.  shortfall: |required - measured|.
    """
    panel, other = issues["panel"], issues["other_panel"]
    mine = {k: _beside(elements, panel, k) for k in TEXTS}
    theirs = {k: _beside(elements, other, k) for k in ("guid", "model", "ifc_class", "name")}
    columns: dict[str, Any] = {k: _first(mine[k], issues[k] if k in issues else None) for k in TEXTS}
    columns |= {
        "step_id": _step_ids(elements, panel),
        "other_model": _first(theirs["model"], issues["other_model"]), "other_guid": _first(theirs["guid"], issues["other_guid"]),
        "other_class": _first(theirs["ifc_class"], issues["other_class"]), "other_name": _first(theirs["name"], issues["other_name"]),
        "shortfall": np.abs(issues["required"] - issues["measured"]),
        "x_m": issues["x"] / 1000, "y_m": issues["y"] / 1000, "z_m": issues["z"] / 1000,
        "group": grouped(issues),
    }
    kept = ("rule", "severity", "key", "measured", "required", "unit", "text", "way_out")
    return Table("issues", issues.n, {**{k: issues[k] for k in kept}, **columns})


def grouped(issues: Table) -> NDArray[Any]:
    """Name of each issue's group: what it shares with others of its rule; blank keys fall to the rule itself."""
    pairs = zip(issues["rule"].tolist(), issues["group"].tolist(), strict=True)
    return np.array([f"{r}: {g}" if g else r for r, g in pairs], dtype=object)


def _beside(elements: Table, rows: NDArray[np.int64], name: str) -> NDArray[Any]:
    out = np.full(len(rows), "", dtype=object)
    if name in elements:
        there = rows >= 0
        out[there] = elements[name][rows[there]]
    return out


def _first(own: NDArray[Any], stated: NDArray[Any] | None) -> NDArray[Any]:
    return own if stated is None else np.where(stated.astype(str) != "", stated, own)


def _step_ids(elements: Table, rows: NDArray[np.int64]) -> NDArray[Any]:
    found = _beside(elements, rows, "step_id")
    return np.array([str(v) for v in found.tolist()], dtype=object)
