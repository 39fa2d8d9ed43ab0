"""Ways out of a clash: layouts that stand on other panels of the same make and are free of bodies here.

Such a layout was solved and judged on its own panel; it is told only where that panel is alike in size, material, item and
place, takes no less wind and passes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.clash.carriers import carrying
from bimcheck.clash.frames import frames_of
from bimcheck.clash.hits import Scene, entering
from bimcheck.clash.kinds import kinds
from bimcheck.clash.places import Floats, Ints
from bimcheck.core.tables import Table, Tables

SAME = ("shape", "shape_turn", "material", "item", "zone", "place")  # what is equal on panels of one make
SIZES = ("width", "height", "t_min", "t_max", "tilt")  # and to a tenth
SIZE_STEP = 0.1
MORE = {"w_suction": -1.0, "w_pressure": 1.0, "w_serv_suction": -1.0, "w_serv_pressure": 1.0}  # and greater this way
MOST = 6  # layouts tried on a panel
RAIL_OFF = 1.0  # mm that a row may be off its rail


@dataclass(frozen=True)
class Trial:
    """A layout, by the row of panels it stands on, on another panel."""

    panel: int
    donor: int


def likes(tables: Tables, scene: Scene, elements: Ints, settings: Mapping[str, Any]) -> dict[int, str]:
    """What stands elsewhere and would be free on panels, by row of elements."""
    panels, anchors, candidates = (tables.get(k) for k in ("panels", "anchors", "candidates"))
    if panels is None or candidates is None or anchors is None or not {*SAME, *SIZES, *MORE, "candidate", "u_layout", "element"} <= set(panels):
        return {}
    rows = np.flatnonzero(np.isin(panels["element"], elements))
    make = _makes(panels) if len(rows) else rows
    trials = [Trial(h, d) for h in rows.tolist() for d in _donors(panels, candidates, h, np.flatnonzero(make == make[h]))]
    if not trials:
        return {}
    starts = np.r_[np.searchsorted(anchors["candidate"], np.arange(candidates.n)), anchors.n]
    free = _free(panels, anchors, starts, trials, scene, settings)
    found: dict[int, str] = {}
    for trial, good in zip(trials, free.tolist(), strict=True):
        if good:
            found.setdefault(int(panels["element"][trial.panel]), _text(panels, candidates, trial.donor))
    return found


def _makes(panels: Table) -> Ints:
    """(n,) number of each panel's make."""
    codes = [np.unique(panels[k].astype(str) if panels[k].dtype == object else panels[k], return_inverse=True)[1].ravel() for k in SAME]
    sizes = [np.round(panels[k] / SIZE_STEP) for k in SIZES]
    return kinds(np.nan_to_num(np.column_stack([*codes, *sizes]).astype(float)))[1]


def _donors(panels: Table, candidates: Table, h: int, alike: Ints) -> list[int]:
    """Panels among those alike whose layout may be tried on panel h, one a layout, fewest anchors first."""
    ok = (panels["candidate"][alike] >= 0) & (panels["u_layout"][alike] <= 1.0)
    for name, way in MORE.items():
        ok &= way * panels[name][alike] >= way * panels[name][h] - 1e-9
    donor = alike[ok]
    layout = candidates["layout"][panels["candidate"][donor]]
    own = candidates["layout"][panels["candidate"][h]] if panels["candidate"][h] >= 0 else -1
    order = np.lexsort((donor, panels["u_layout"][donor], panels["n_anchors_selected"][donor]))
    order = order[layout[order] != own]
    _, first = np.unique(layout[order], return_index=True)
    return donor[order[np.sort(first)]][:MOST].tolist()


def _free(panels: Table, anchors: Table, starts: Ints, trials: list[Trial], scene: Scene, settings: Mapping[str, Any]) -> np.ndarray:
    """Which trials are free of bodies, on rails where rows follow them, and carried where the model has supports."""
    at = panels["candidate"][[t.donor for t in trials]]
    many = starts[at + 1] - starts[at]
    of = np.repeat(np.arange(len(trials)), many)
    anchor = np.arange(len(of)) + np.repeat(starts[at] - np.cumsum(many) + many, many)
    x, y = anchors["x"][anchor], anchors["y"][anchor]
    owner = panels["element"][[t.panel for t in trials]][of]
    e = scene.elements
    mouth = e["origin"][owner] + x[:, None] * e["u"][owner] + y[:, None] * e["v"][owner] - e["thickness"][owner, None] * e["n"][owner]
    frames = frames_of(mouth, e, owner)
    support = carrying(frames, scene.obstacles, scene.supports, settings)
    hit, (_, met) = entering(frames, scene, support)
    bad = np.zeros(len(trials), dtype=bool)
    bad[of[np.r_[hit.anchor, met.anchor]]] = True
    if len(scene.supports):
        bad[of[support < 0]] = True
        bad[of[_off_rails(panels, trials, of, y, settings)]] = True
    return ~bad


def _off_rails(panels: Table, trials: list[Trial], of: Ints, y: Floats, settings: Mapping[str, Any]) -> np.ndarray:
    """Anchors at no height of a level rail, of panels that have such, where rows follow the rails."""
    if "rails_y" not in panels or not settings.get("layout.follow_rails", True):
        return np.zeros(len(of), dtype=bool)
    above = float(settings.get("layout.clip_offset_mm", 0.0))
    heights = [r[r[:, 2] == 1.0, 0] + above for r in (panels["rails_y"][t.panel] for t in trials)]
    return np.array([bool(len(heights[t])) and np.abs(heights[t] - q).min() > RAIL_OFF for t, q in zip(of.tolist(), y.tolist(), strict=True)], dtype=bool)


def _text(panels: Table, candidates: Table, donor: int) -> str:
    name = str(panels["mark"][donor] or panels["name"][donor] or panels["guid"][donor])
    pattern = str(candidates["pattern"][panels["candidate"][donor]])
    return (f"the layout of {name} ({pattern}, {int(panels['n_anchors_selected'][donor])} anchors; same size, material and item, no less wind; "
            "its checks hold there) is free of bodies here")
