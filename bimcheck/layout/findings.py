"""Issues of positions that are kept: what could not be told, and what was laid out freely beside them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables

TOKEN = "kept-anchors"
_NAMED = 5  # panels that a text lists


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """kept-anchors: a warning for each panel whose fasteners do not tell its positions; an info for those laid out freely."""
    panels, keep = tables.get("panels"), str(settings.get("layout.keep", ""))
    if panels is None or not keep or "kept" not in panels:
        return []
    doubt = np.array([str(r).startswith(TOKEN) for r in panels["layout_reason"]], dtype=bool)
    free = np.flatnonzero(~doubt & ~panels["kept"] & (panels["n_anchors_selected"] > 0))
    return [*(_unclear(panels, i) for i in np.flatnonzero(doubt).tolist()), *([_free(panels, free, keep)] if len(free) else [])]


def _unclear(panels: Table, i: int) -> Issue:
    why = str(panels["layout_reason"][i]).partition(": ")[2]
    return Issue("kept-anchors", "warning", f"{why}; nothing was laid out", panel=int(panels["element"][i]), key="unclear",
                 way_out="correct the model, or state the positions in a CSV file at [layout] keep")


def _free(panels: Table, rows: np.ndarray, keep: str) -> Issue:
    names = [str(panels["mark"][i] or panels["name"][i] or panels["guid"][i]) for i in rows[:_NAMED].tolist()]
    where = "no fasteners of the author's" if keep == "author" else "no positions in the list"
    more = f" and {len(rows) - _NAMED} more" if len(rows) > _NAMED else ""
    return Issue("kept-anchors", "info", f"{len(rows)} panels have {where} and were laid out freely: {', '.join(names)}{more}", key="free")
