"""Issues of the hardware: panels that no catalogue item fits, and set-ups that do not go with the way depth is set."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables
from bimcheck.hardware.drilling import conflict

_ITEM = "another thickness, or an item in [hardware] or [catalogue] whose limits suit"
_LOT = "drill the panel in a lot of its own thickness (column lot of [drilling] measured)"


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """no-item: a warning a panel, naming dimension and amount; drilling-set-up: one a way of setting depth."""
    panels = tables.get("panels")
    if panels is None or "hardware_reason" not in panels:
        return []
    return [*_without_item(panels), *_set_ups(panels, str(settings.get("drilling.set_up", "")))]


def _without_item(panels: Table) -> list[Issue]:
    return [Issue("no-item", "warning", str(panels["hardware_reason"][i]), panel=int(panels["element"][i]),
                  group=f"{panels['material'][i]} {panels['thickness'][i]:.1f} mm",
                  way_out=_LOT if "counterbore" in str(panels["hardware_reason"][i]) else _ITEM)
            for i in np.flatnonzero(panels["hardware_reason"] != "").tolist()]


def _set_ups(panels: Table, set_up: str) -> list[Issue]:
    issues = []
    for face in sorted(set(panels["face"].tolist())):
        said = conflict(face, set_up)
        if said:
            n = int((panels["face"] == face).sum())
            issues.append(Issue("drilling-set-up", "warning", f"{n} panels with face '{face}': {said}", key=face, way_out="[drilling] set_up"))
    return issues
