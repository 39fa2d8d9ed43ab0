"""Issues as the rows that people read: names of panels and bodies put beside each finding."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.reconcile.groups import grouped

TEXTS = ("guid", "mark", "name", "model", "storey", "facade")
OTHER = {"model": "model", "guid": "guid", "class": "ifc_class", "name": "name", "mark": "mark"}


def describe(issues: Table, elements: Table) -> Table:
    """The table `issues` with the names of what it speaks of: guid, step_id, mark, name, model, storey, facade, other_*,
    and its place in the panel's plane.

    issues: of `core.issue`; panel and other_panel are rows of elements (-1: none).  group becomes the group's name;
    shortfall = |required - measured| in the issue's unit.
    """
    panel, other = issues["panel"], issues["other_panel"]
    none = np.full(issues.n, "", dtype=object)
    columns: dict[str, Any] = {k: _first(_beside(elements, panel, k), issues.get(k, none)) for k in TEXTS}
    columns |= {f"other_{k}": _first(_beside(elements, other, c), issues.get(f"other_{k}", none)) for k, c in OTHER.items()}
    columns["step_id"] = _step_ids(elements, panel)
    columns["ifc_class"] = _beside(elements, panel, "ifc_class")
    columns["other_considered"] = (other >= 0).astype(np.int64)
    columns |= in_plane(issues, elements)
    columns["shortfall"] = np.abs(issues["required"] - issues["measured"])
    named = issues.with_columns(**columns)
    return named.with_columns(group=grouped(named))


def in_plane(issues: Table, elements: Table) -> dict[str, NDArray[np.float64]]:
    """Place of each issue in its panel's plane, mm from the lower-left corner seen from outside; nan where it has none."""
    panel = issues["panel"]
    there = panel >= 0 if "origin" in elements else np.zeros(issues.n, dtype=bool)
    out = {k: np.full(issues.n, np.nan) for k in ("x_panel", "y_panel")}
    rows = panel[there]
    for name, axis in zip(out, ("u", "v") if there.any() else (), strict=False):
        from_corner = np.column_stack([issues[k][there] for k in "xyz"]) - elements["origin"][rows]
        out[name][there] = (from_corner * elements[axis][rows]).sum(axis=1)
    return out


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
