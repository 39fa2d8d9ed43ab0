"""One finding, one record; finders make tables of them, writers print them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from bimcheck.core.tables import Table

SEVERITIES = ("error", "warning", "info")


@dataclass(frozen=True)
class Issue:
    """A finding.  Lengths in mm (world place too); unit names the unit of measured, required and shortfall.

    panel, other_panel: rows of the elements table (-1: none).  key: what makes it the same matter in the next run, beside
    rule and GlobalIds (for example the side or the anchor); group: key of the group it belongs to.
    """

    rule: str
    severity: str
    text: str
    panel: int = -1
    key: str = ""
    group: str = ""
    other_panel: int = -1
    other_model: str = ""
    other_guid: str = ""
    other_class: str = ""
    other_name: str = ""
    measured: float = float("nan")
    required: float = float("nan")
    unit: str = ""
    x: float = float("nan")
    y: float = float("nan")
    z: float = float("nan")
    way_out: str = ""
    model: str = ""  # only where no panel carries it
    guid: str = ""
    name: str = ""
    facade: str = ""


_FLOATS = {f.name for f in fields(Issue) if f.type == "float"}
_INTS = {f.name for f in fields(Issue) if f.type == "int"}


def issue_table(issues: Sequence[Issue]) -> Table:
    """The table `issues`, a row each, in the order given."""
    columns: dict[str, Any] = {}
    for f in fields(Issue):
        values = [getattr(i, f.name) for i in issues]
        kind: Any = float if f.name in _FLOATS else np.int64 if f.name in _INTS else object
        columns[f.name] = np.array(values, dtype=kind)
    return Table("issues", len(issues), columns)
