"""Issues and elements laid out by hand."""

from __future__ import annotations

from typing import Any

import numpy as np

from bimcheck.core.issue import Issue, issue_table
from bimcheck.core.tables import Table

GUIDS = ("0aaaaaaaaaaaaaaaaaaaaa", "0bbbbbbbbbbbbbbbbbbbbb", "0ccccccccccccccccccccc")


def elements(names: tuple[str, ...] = ("P1", "P2", "P3"), guids: tuple[str, ...] = GUIDS, model: str = "a.ifc") -> Table:
    n = len(names)
    return Table("elements", n, {
        "guid": np.array(guids[:n], dtype=object), "mark": np.array([f"00{k}" for k in range(n)], dtype=object),
        "name": np.array(names, dtype=object), "model": np.full(n, model, dtype=object), "step_id": np.arange(n) + 100,
        "ifc_class": np.full(n, "IfcPlate", dtype=object), "storey": np.full(n, "01", dtype=object), "status": np.full(n, "panel", dtype=object),
        "facade": np.full(n, "F1", dtype=object), "reason": np.full(n, "", dtype=object), "z": np.arange(n) * 3000.0})


def joint(a: int, b: int, gap: float, **more: Any) -> Issue:
    return Issue("joint-width", "error", f"joint is {gap} mm wide", panel=a, other_panel=b, measured=gap, required=5.0, unit="mm",
                 group="upright joint", **more)


def table(*issues: Issue) -> Table:
    return issue_table(issues)
