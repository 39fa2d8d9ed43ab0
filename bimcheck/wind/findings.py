"""Issues of the wind: one a facade and reason, never one a panel."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Tables

# Token of wind_flags -> rule, severity, way out.
FOUND = {
    "outside-range": ("wind-outside-range", "warning", "give tabulated pressures, or the judgement of the engineer of record"),
    "note": ("wind-note", "info", "have the engineer of record confirm that the rule applies"),
}


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """A warning for each facade and reason for which a standard's range is left; an info for each rule to be confirmed."""
    panels = tables.get("panels")
    if panels is None or "wind_flags" not in panels:
        return []
    groups: dict[tuple[str, str], list[int]] = {}
    for i in np.flatnonzero(panels["wind_flags"] != ""):
        for part in panels["wind_flags"][i].split("; "):
            if part.partition(": ")[0] in FOUND:
                groups.setdefault((str(panels["facade"][i]), part), []).append(int(i))
    return [_issue(facade, part, rows) for (facade, part), rows in sorted(groups.items())]


def _issue(facade: str, part: str, rows: list[int]) -> Issue:
    token, _, reason = part.partition(": ")
    rule, severity, way_out = FOUND[token]
    return Issue(rule, severity, f"{len(rows)} panels of facade {facade}: {reason}", key=f"{facade}: {reason}",
                 group=facade, facade=facade, way_out=way_out)
