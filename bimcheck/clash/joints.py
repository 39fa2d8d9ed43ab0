"""Joints that are too narrow or too wide, panels that overlap, neighbours that step."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.clash.places import Floats, Ints, between
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables

TOUCH = 0.02  # mm; what shares less than this touches, and touching is not a clash
SAME = 0.98  # share of the lesser side from which an overlap is a second copy of the panel


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """joint-width and panel-overlap (error), joint-wide (warning), panel-step: one issue a pair of neighbours."""
    elements, joints = tables.get("elements"), tables.get("joints")
    if elements is None or joints is None or not joints.n:
        return []
    pairs = _pairs(joints, elements)
    if not pairs.n:
        return []
    place = between(elements, pairs["panel"], pairs["other"])
    gap, flat = pairs["gap"], ~pairs["corner"]
    low, high, step = (float(settings[f"joints.{k}"]) for k in ("min_mm", "max_mm", "step_mm"))
    over = gap < -TOUCH
    found = _overlaps(elements, pairs, place, np.flatnonzero(over))
    found += _narrow(elements, pairs, place, np.flatnonzero(~over & flat & (gap < low - 1e-6)), low)
    found += _wide(elements, pairs, place, np.flatnonzero(~over & flat & (gap > high + 1e-6)), high)
    stepped = np.flatnonzero(~over & flat & (np.abs(pairs["step"]) > step + 1e-6))
    return found + _steps(elements, pairs, place, stepped, step, settings["clash.step_severity"])


def _pairs(joints: Table, elements: Table) -> Table:
    """One row an unordered pair of which at least one is a panel: that of its least gap, seen from the lower row."""
    a, b = joints["panel"], joints["other"]
    is_panel = elements["status"] == "panel"
    rows = np.flatnonzero((b >= 0) & (a < b) & (is_panel[a] | is_panel[np.maximum(b, 0)]))
    order = rows[np.lexsort((joints["gap"][rows], b[rows], a[rows]))]
    first = np.r_[True, (a[order][1:] != a[order][:-1]) | (b[order][1:] != b[order][:-1])] if len(order) else []
    pairs = joints.take(order[np.asarray(first, dtype=bool)])
    return pairs if "corner" in pairs else pairs.with_columns(corner=np.zeros(pairs.n, dtype=bool))


def _overlaps(elements: Table, pairs: Table, place: Floats, rows: Ints) -> list[Issue]:
    found = []
    for r in _without_copies_of_copies(elements, pairs, rows).tolist():
        depth = -float(pairs["gap"][r])
        text, group = _overlap_text(elements, pairs, r, depth)
        found.append(_issue("panel-overlap", "error", text, pairs, place, r, measured=depth, required=0.0, group=group,
                            way_out="delete one of the two" if "second copy" in group else f"move or cut back one of them by {depth:.1f} mm and the joint"))
    return found


def _without_copies_of_copies(elements: Table, pairs: Table, rows: Ints) -> Ints:
    """Of panels that lie upon one another every copy is told once, beside the first."""
    copy = rows[_is_copy(elements, pairs, rows)]
    first: dict[int, int] = {}
    for a, b in zip(pairs["panel"][copy].tolist(), pairs["other"][copy].tolist(), strict=True):
        first[b] = min(a, first.get(b, a))
    of_first = np.array([first[b] == a for a, b in zip(pairs["panel"][copy].tolist(), pairs["other"][copy].tolist(), strict=True)], dtype=bool)
    return rows[~np.isin(rows, copy[~of_first])] if len(copy) else rows


def _is_copy(elements: Table, pairs: Table, rows: Ints) -> np.ndarray:
    a, b = pairs["panel"][rows], pairs["other"][rows]
    side = np.min([elements[k][i] for k in ("width", "height") for i in (a, b)], axis=0)
    return ~pairs["corner"][rows].astype(bool) & (-pairs["gap"][rows] > SAME * side)


def _overlap_text(elements: Table, pairs: Table, r: int, depth: float) -> tuple[str, str]:
    if pairs["corner"][r]:
        return f"the bodies of panels of two facades overlap by {depth:.1f} mm at a corner", f"panels overlap at a corner by {depth:.0f} mm"
    if _is_copy(elements, pairs, np.array([r]))[0]:
        return f"a second copy of a panel: the two overlap by {depth:.1f} mm", "second copy of a panel"
    return f"the panels overlap by {depth:.1f} mm in the facade plane ({pairs['side'][r]})", f"panels overlap by {depth:.0f} mm"


def _narrow(elements: Table, pairs: Table, place: Floats, rows: Ints, low: float) -> list[Issue]:
    gap, side = pairs["gap"], pairs["side"]
    return [_issue("joint-width", "error", f"joint {side[r]} is {gap[r]:.1f} mm wide, {low:g} mm are required", pairs, place, r,
                   measured=float(gap[r]), required=low, group=f"{_way(side[r])} joint {gap[r]:.0f} mm wide",
                   way_out=f"widen by {low - gap[r]:.1f} mm: shorten one of the two or move it") for r in rows.tolist()]


def _wide(elements: Table, pairs: Table, place: Floats, rows: Ints, high: float) -> list[Issue]:
    gap, side = pairs["gap"], pairs["side"]
    return [_issue("joint-wide", "warning", f"joint {side[r]} is {gap[r]:.1f} mm wide, at most {high:g} mm are intended", pairs,
                   place, r, measured=float(gap[r]), required=high, group=f"{_way(side[r])} joint {gap[r]:.0f} mm wide",
                   way_out=f"narrow by {gap[r] - high:.1f} mm: lengthen one of the two or move it, unless an opening or a profile is meant there")
            for r in rows.tolist()]


def _steps(elements: Table, pairs: Table, place: Floats, rows: Ints, limit: float, severity: str) -> list[Issue]:
    step = np.abs(pairs["step"])
    return [_issue("panel-step", severity, f"the faces step by {step[r]:.1f} mm out of plane, at most {limit:g} mm are intended",
                   pairs, place, r, measured=float(step[r]), required=limit, group=f"step of {step[r]:.0f} mm",
                   way_out=f"set one of the two {step[r] - limit:.1f} mm further in or out, or give both one thickness") for r in rows.tolist()]


def _way(side: str) -> str:
    return "upright" if side in ("left", "right") else "level"


def _issue(rule: str, severity: str, text: str, pairs: Table, place: Floats, r: int, **more: Any) -> Issue:
    x, y, z = place[r].tolist()
    return Issue(rule, severity, text, panel=int(pairs["panel"][r]), other_panel=int(pairs["other"][r]), unit="mm",
                 x=x, y=y, z=z, **more)
