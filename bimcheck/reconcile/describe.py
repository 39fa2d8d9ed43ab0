"""Issues as the rows that people read: names of panels and bodies put beside each finding."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table

TEXTS = ("guid", "mark", "name", "model", "storey", "facade")
OTHER = {"model": "model", "guid": "guid", "class": "ifc_class", "name": "name"}


def describe(issues: Table, elements: Table) -> Table:
    """The table `issues` with the names of what it speaks of: guid, step_id, mark, name, model, storey, facade, other_*.

    issues: of `core.issue`; panel and other_panel are rows of elements (-1: none).  group becomes the group's name;
    shortfall = |required - measured| in the issue's unit.
    """
    panel, other = issues["panel"], issues["other_panel"]
    none = np.full(issues.n, "", dtype=object)
    columns: dict[str, Any] = {k: _first(_beside(elements, panel, k), issues.get(k, none)) for k in TEXTS}
    columns |= {f"other_{k}": _first(_beside(elements, other, c), issues[f"other_{k}"]) for k, c in OTHER.items()}
    columns["step_id"] = _step_ids(elements, panel)
    columns["shortfall"] = np.abs(issues["required"] - issues["measured"])
    return issues.with_columns(**columns, group=grouped(issues))


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


def _first(own: NDArray[Any], stated: NDArray[Any]) -> NDArray[Any]:
    """What the finding states itself comes before what the element says."""
    return np.where(stated.astype(str) != "", stated, own)


def _step_ids(elements: Table, rows: NDArray[np.int64]) -> NDArray[Any]:
    found = _beside(elements, rows, "step_id")
    return np.array([str(v) for v in found.tolist()], dtype=object)
