"""Small steps between stages: choosing panels, placing anchors in the world, joining reasons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.checks.result import result_of
from bimcheck.core.plan import Plan
from bimcheck.core.tables import Ragged, Table, gather

# Forms that the method covers, and places it does not with the token each panel gets; any other form is a token.
_PLAIN = ("", "flat")
_PLACES = {"soffit": "soffit", "folded": "folded"}


def panels_of(elements: Table) -> Table:
    """The rows with status panel, as table `panels`; `element` is the row of elements each comes from."""
    rows = np.flatnonzero(elements["status"] == "panel")
    picked = elements.take(rows)
    return Table("panels", picked.n, {**picked.columns, "element": rows}).with_columns(
        corners=_corners(picked["outline"]), small=np.zeros(picked.n, dtype=bool))


def _corners(outline: Ragged) -> NDArray[np.int64]:
    outer = np.r_[0, np.cumsum(outline.values[:, 2] == 0)] if len(outline.values) else np.zeros(1, dtype=np.int64)
    return (outer[outline.offsets[1:]] - outer[outline.offsets[:-1]]).astype(np.int64)


def placed(anchors: Table, tables: Mapping[str, Table]) -> Table:
    """Anchors with world coordinates of the hole's mouth on the rear face, and x seen from the rear.

    The mouth lies at origin + x u + y v - t n (panel frame: core/vocabulary).
    """
    look: dict[str, Any] = {k: gather({**tables, "anchors": anchors}, "anchors", k) for k in ("origin", "u", "v", "n", "thickness", "width")}
    mouth = (look["origin"] + anchors["x"][:, None] * look["u"] + anchors["y"][:, None] * look["v"]
             - look["thickness"][:, None] * look["n"])
    return anchors.with_columns(wx=mouth[:, 0], wy=mouth[:, 1], wz=mouth[:, 2], x_rear=look["width"] - anchors["x"])


def assumed_settings(plan: Plan, assumed: Iterable[str]) -> list[str]:
    """Hard data that nobody stated and that a rule of this plan reads."""
    read = {key for step in plan.steps for key, _ in step.rule.settings.values()}
    return sorted(a for a in assumed if a in read or a == "hardware")


def judged(panels: Table, issues: Table) -> Table:
    """Panels with `result` once it is known which issues stand: an accepted one no longer fails its panel, a check above 1 does.

    issues: reconciled (severity, state, panel and other_panel as rows of elements).
    """
    grave = (issues["severity"] == "error") & np.isin(issues["state"].astype(str), ["new", "open"])
    named = np.r_[issues["panel"][grave], issues["other_panel"][grave]]
    nothing = np.full(panels.n, "", dtype=object)
    return panels.with_columns(result=result_of(panels["utilisation"], nothing, panels["reason"], np.isin(panels["element"], named[named >= 0])))


def reasons(panels: Table, assumed: Iterable[str], building_known: bool) -> NDArray:
    """(n,) tokens, "; " between them, why a panel cannot be more than not_checked; blank where nothing is open."""
    parts = [[str(r)] if r else [] for r in panels["reason"]]
    general = [f"assumed:{a}" for a in assumed] + ([] if building_known else ["assumed:building"])
    small = panels["layout_reason"] if "layout_reason" in panels else np.full(panels.n, "", dtype=object)
    flags = panels["wind_flags"] if "wind_flags" in panels else np.full(panels.n, "", dtype=object)
    columns = zip(parts, panels["form"], panels["place"], panels["assumed_material"], panels["material_name"], panels["hardware_reason"],
                  small, flags, panels["side_known"], strict=True)
    return np.array(["; ".join(_tokens(row, general)) for row in columns], dtype=object)


def _tokens(row: tuple[Any, ...], general: list[str]) -> list[str]:
    own, form, place, material, name, hardware, small, flags, side = row
    found = [*own]
    found += [form] if form not in _PLAIN and form not in own else []
    found += [_PLACES[place]] if place in _PLACES and _PLACES[place] not in found else []
    found += [f.partition(":")[0] for f in str(flags).split("; ") if f and f.partition(":")[0] in ("inclined", "no-facade", "no-height")]
    found += [str(small)] if small else []
    found += [f"hardware:{hardware}"] if hardware else []
    found += [] if side else ["side-uncertain"]
    found += [f"assumed:{m}" for m in str(material).split(", ") if m] if name else ["assumed:material"]
    return list(dict.fromkeys(found + general))
