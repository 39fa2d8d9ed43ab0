"""What relate itself finds: slopes, soffits, sides and building data that are not beyond doubt."""

from __future__ import annotations

from typing import Any

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table
from bimcheck.relate.facts import Building
from bimcheck.relate.settings import Relate


def findings(elements: Table, building: Building, settings: Relate) -> list[Issue]:
    panel = elements["status"] == "panel"
    tilt = elements["tilt"]
    soffit = panel & (elements["place"] == "soffit")
    sloped = panel & ~soffit & (np.abs(tilt) > settings.sloped_deg)
    unsure = panel & np.isfinite(elements["width"]) & ~elements["side_known"]
    found = [_at(elements, r, "sloped-panel", "warning", f"leans {tilt[r]:.1f} degrees from the vertical; wind zones and "
                 "weight of vertical walls do not hold without more", measured=float(tilt[r]),
                 required=settings.sloped_deg, unit="deg") for r in np.flatnonzero(sloped)]
    found += [_at(elements, r, "soffit-panel", "warning", "hangs face down; weight pulls on every anchor, and wall zones "
                  "do not cover it") for r in np.flatnonzero(soffit)]
    found += [_at(elements, r, "side-uncertain", "warning", "nothing in the model says which side of it is outside",
                  way_out="add the files with slabs or substructure") for r in np.flatnonzero(unsure)]
    return found + _about(building)


def _about(building: Building) -> list[Issue]:
    why = []
    if building.ring_source == "open":
        why.append("the plan outline does not close")
    if building.ground_source == "lowest panel":
        why.append("no file states the ground; the lowest panel is taken for it")
    if not why:
        return []
    return [Issue("building-uncertain", "warning", "; ".join(why), key="building",
                  way_out="state [wind] h_m and footprint, or [model] ground_m")]


def _at(elements: Table, r: int, rule: str, severity: str, text: str, **more: Any) -> Issue:
    x, y, z = (elements["origin"][r] + elements["u"][r] * elements["width"][r] / 2
               + elements["v"][r] * elements["height"][r] / 2)
    return Issue(rule, severity, text, panel=int(r), x=float(x), y=float(y), z=float(z), **more)
