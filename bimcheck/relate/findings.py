"""What relate itself finds: slopes, soffits, sides and building data that are not beyond doubt."""

from __future__ import annotations

from typing import Any

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table
from bimcheck.relate.facts import Building
from bimcheck.relate.settings import Relate

OUT_OF_SCALE = 100.0  # 304.8 and 1000 are the factors of mistaken units


def findings(elements: Table, obstacles: Table, building: Building, settings: Relate) -> list[Issue]:
    """Issues of the run, panels first."""
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
    return found + _about(building) + _apart(elements, obstacles, settings)


def _apart(elements: Table, obstacles: Table, settings: Relate) -> list[Issue]:
    """Files that lie far from all others, or are out of all proportion to them: an offset or a unit is wrong in one."""
    boxes = _boxes(elements, obstacles)
    if len(boxes) < 2:
        return []
    scale = _scales(elements)
    found = []
    for model, box in sorted(boxes.items()):
        others = np.array([b for m, b in boxes.items() if m != model])
        gap = np.linalg.norm(np.maximum(0.0, np.maximum(others[:, :3] - box[3:], box[:3] - others[:, 3:])), axis=1).min()
        ratio = _ratio(model, scale)
        if gap > settings.apart_mm or not 1 / OUT_OF_SCALE < ratio < OUT_OF_SCALE:
            why = f"lies {gap / 1000:.0f} m from all other files" if gap > settings.apart_mm else \
                f"has panels {ratio:.3g} times as large as the other files"
            found.append(Issue("file-apart", "error", f"the file {why}", model=model, key=model, measured=float(gap),
                               required=settings.apart_mm, unit="mm", way_out="correct its placement or its length unit"))
    return found


def _ratio(model: str, scale: dict[str, float]) -> float:
    """Size of the file's panels over that of the other files' panels; 1 where there is nothing to compare."""
    others = [v for m, v in scale.items() if m != model]
    return scale[model] / float(np.median(others)) if model in scale and others else 1.0


def _boxes(elements: Table, obstacles: Table) -> dict[str, np.ndarray]:
    """World box of every file that has bodies."""
    there = np.isfinite(elements["width"])
    low = elements["origin"] + np.minimum(elements["u"] * elements["width"][:, None], 0) \
        + np.minimum(elements["v"] * elements["height"][:, None], 0)
    high = elements["origin"] + np.maximum(elements["u"] * elements["width"][:, None], 0) \
        + np.maximum(elements["v"] * elements["height"][:, None], 0)
    model, box = elements["model"][there], np.hstack([low, high])[there]
    if obstacles.n and "model" in obstacles:
        model, box = np.concatenate([model, obstacles["model"]]), np.concatenate([box, obstacles["box"]])
    return {m: np.r_[box[model == m, :3].min(axis=0), box[model == m, 3:].max(axis=0)] for m in sorted(set(model))}


def _scales(elements: Table) -> dict[str, float]:
    """Median diagonal of the panels of every file that has some."""
    there = np.isfinite(elements["width"])
    diagonal = np.hypot(elements["width"], elements["height"])
    return {m: float(np.median(diagonal[there & (elements["model"] == m)])) for m in sorted(set(elements["model"][there]))}


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


def _at(elements: Table, r: Any, rule: str, severity: str, text: str, **more: Any) -> Issue:
    x, y, z = (elements["origin"][r] + elements["u"][r] * elements["width"][r] / 2
               + elements["v"][r] * elements["height"][r] / 2)
    return Issue(rule, severity, text, panel=int(r), x=float(x), y=float(y), z=float(z), **more)
