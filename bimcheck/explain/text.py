"""Everything about a panel as text: result, issues, checks, anchors, steps, assumptions."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bimcheck.core.tables import gather
from bimcheck.explain.context import Context, Rule
from bimcheck.explain.origins import setting_text
from bimcheck.explain.quantity import quantity
from bimcheck.explain.steps import step
from bimcheck.plate.strip_check import EQUAL_MOMENTS, midspan_moment, support_moment, tributary_force

NOT_CHECKED = ("impact; fire and cavity barriers; ice; corrosion grade; handling; members of the substructure; vertical earthquake; stress concentration at "
               "the hole beyond the tested k_hole, and breakout together with bending; prying and contact at the clip")
CAUTION = "Preliminary design aid: the responsible engineer and local codes decide."
_ROOMS = ("actions", "resistances", "checks", "wind")


def panel_text(context: Context, picture: str = "") -> Iterator[str]:
    """Lines for one panel.  picture: file of the plate's picture, named where there is one."""
    yield from _head(context)
    yield from _issues(context)
    yield from _checks(context)
    yield from _anchors(context)
    if picture:
        yield from ("", f"Picture of the plate: {picture}")
    yield from ("", "STEP BY STEP   formula = numbers = result; below it what goes in, with its origin where it is met first; -> other results")
    idle = [r for r in context.rules if _idle(context, r)]
    shown: set[str] = set()
    for rule in context.rules:
        if rule not in idle:
            yield ""
            yield from step(context, rule, shown)
    yield from _met(context, idle)
    yield from _cross_checks(context)
    yield from ("", f"NOT CHECKED by this tool: {NOT_CHECKED}.")
    yield from _assumptions(context, shown)
    yield from ("", CAUTION)


def _head(context: Context) -> Iterator[str]:
    get = lambda name: str(context.value("panels", name) or "")  # noqa: E731
    size = " x ".join(context.shown("panels", k) for k in ("width", "height", "thickness"))
    yield f"{get('name')} ({get('guid')}), mark {get('mark') or '-'}: {get('material')} {size}, facade {get('facade') or '-'}, {get('pattern_selected') or 'no'} anchors"
    yield f"{get('result').upper()}   governing {get('governing_check') or '-'}, utilisation {context.shown('panels', 'utilisation')}"
    if get("reason"):
        yield f"not checked because: {get('reason')}"
    if get("way_out"):
        yield get("way_out")


def _issues(context: Context) -> Iterator[str]:
    """Issues that name the panel: an error that stands fails it whatever its checks say."""
    issues, element = context.result.tables["issues"], context.value("panels", "element")
    for i in np.flatnonzero((issues["panel"] == element) | (issues["other_panel"] == element)) if issues.n else ():
        state = issues["state"][i] if "state" in issues else ""
        yield f"issue {issues['rule'][i]} ({issues['severity'][i]}, {state}): {issues['text'][i]}"


def _checks(context: Context) -> Iterator[str]:
    yield from ("", f"CHECKS   {'utilisation':>11}  {'demand':>16}  {'limit':>16}  clause")
    for rule in context.rules:
        if rule["check"]:
            worst = _worst(context, rule)
            u = worst.number(rule["adds"][0], rule["table"])
            at = f" A{worst.value('anchors', 'slot')}" if rule["table"] == "anchors" else ""
            demand, limit = (worst.shown(rule["table"], rule[k]) if rule[k] else "" for k in ("demand", "limit"))
            yield f"{_mark(u)} {rule['name'] + at:<26} {_utilisation(u):>8}  {demand:>16}  {limit:>16}  {rule['clause']}"


def _worst(context: Context, rule: Rule) -> Context:
    """Seen from the anchor with the greatest utilisation of a check of anchors."""
    if rule["table"] != "anchors":
        return context
    u = np.asarray(context.result.tables["anchors"][rule["adds"][0]], dtype=float)[context.anchors]
    return context.at(int(context.anchors[np.argmax(np.where(np.isnan(u), np.inf, u))]))


def _mark(u: float) -> str:
    return "?" if np.isnan(u) else "!" if u > 1 + 1e-9 else " "


def _utilisation(u: float) -> str:
    return "unknown" if np.isnan(u) else f"{u:.4g}"


def _anchors(context: Context) -> Iterator[str]:
    rows = context.anchors
    if not len(rows):
        return
    yield from ("", "ANCHORS  x from the left seen from the rear, y from below; design forces; the combination governs the tension")
    width = context.number("width")
    for row in rows:
        at = context.at(int(row))
        x = quantity(width - at.number("x", "anchors"), "mm").shown(context.units)
        y, edge, N, V = (at.shown("anchors", k) for k in ("y", "edge", "N_Ed", "V_Ed"))
        yield (f"  A{at.value('anchors', 'slot'):<3} x {x:>9} y {y:>9} edge {edge:>9}  {at.value('anchors', 'role'):<8} N_Ed {N:>10}  V_Ed {V:>10}  "
               f"{at.value('anchors', 'combination')}, together {_utilisation(at.number('u_interaction', 'anchors'))}")


def _idle(context: Context, rule: Rule) -> bool:
    """Checks that ask nothing of this panel, and rules that only add noughts to what the settings switch off."""
    if rule["check"]:
        return context.number(rule["adds"][0], rule["table"]) == 0
    return rule["name"] in ("misfit-on-anchors", "misfit-in-plate", "earthquake-pressure") and all(context.number(a, rule["table"]) == 0 for a in rule["adds"])


def _met(context: Context, idle: list[Rule]) -> Iterator[str]:
    yield from ("", "MET WITHOUT A FIGURE, OR SWITCHED OFF (for this panel, or the anchor shown)")
    for rule in idle:
        switches = ", ".join(f"[{k}] = {v}" for k, v in rule["settings"].items())
        yield f"  {rule['name']}: {rule['formula']}   [{rule['clause']}]{'   ' + switches if switches else ''}"


def _cross_checks(context: Context) -> Iterator[str]:
    """Strips and shares of the area: to see the order of size, never used instead of the plate (they are not safe)."""
    rows = context.anchors
    if not len(rows):
        return
    q, L, area = (context.number(k) for k in ("w_suction", "width", "net_area"))
    c = float(context.result.tables["anchors"]["x"][rows].min())
    u = context.units
    share = quantity(tributary_force(abs(q), area, len(rows)), "N").shown(u)
    over, middle = (quantity(m, "N mm/mm").shown(u) for m in (support_moment(abs(q), c), midspan_moment(abs(q), L, c)))
    total = float(np.sum(context.result.tables["anchors"]["share"][rows]))
    yield from ("", "CROSS-CHECKS (equal shares and strips, for the order of size only; suction without factors)")
    yield f"  equal share of each anchor q A / n = {quantity(abs(q), 'MPa').shown(u)} x {quantity(area, 'mm2').shown(u)} / {len(rows)} = {share}"
    yield f"  sum of the reactions' envelope {quantity(total, 'mm2').shown(u)} of {quantity(area, 'mm2').shown(u)} (equal on rigid supports alone)"
    yield f"  strip of unit width on supports at c = {quantity(c, 'mm').shown(u)} of L = {quantity(L, 'mm').shown(u)} (moments equal at {EQUAL_MOMENTS:.4f} L): over them {over}, midspan {middle}"


def _assumptions(context: Context, shown: set[str]) -> Iterator[str]:
    assumed = set(context.result.facts.get("assumed", []))
    yield from ("", "ASSUMPTIONS   what nobody stated (ASSUMED), and settings beyond those met above")
    seen = shown - assumed
    for rule in context.rules:
        for key, value in rule["settings"].items():
            if key not in seen and rule["room"].split(".")[1] in _ROOMS and setting_text(key):
                seen.add(key)
                yield f"  {'ASSUMED ' if key in assumed else ''}[{key}] = {value}   {setting_text(key)}"
    flags = gather(context.result.tables, "candidates", "layout_flags")
    if "candidates" in context.rows and isinstance(flags, np.ndarray) and flags[context.rows["candidates"]]:
        yield f"  plate: {flags[context.rows['candidates']]} (docs/method/plate.md)"
    if context.value("panels", "wind_flags"):
        yield f"  wind: {context.value('panels', 'wind_flags')}"


def rule_text(rule: Rule) -> Iterator[str]:
    """What a rule does, and what its settings were."""
    yield f"{rule['name']}: {rule['summary']}"
    yield f"  clause    {rule['clause']}"
    yield f"  formula   {rule['formula']}"
    if rule.get("symbols"):
        yield f"  symbols   {', '.join(f'{k} = {v}' for k, v in rule['symbols'].items())}"
    yield f"  table     {rule['table']} (phase {rule['phase']}, {rule['room']})"
    yield f"  reads     {', '.join(rule['reads'])}"
    yield f"  adds      {', '.join(rule['adds'])}"
    for key, value in rule["settings"].items():
        yield f"  setting   {key} = {value}   {setting_text(key)}".rstrip()
