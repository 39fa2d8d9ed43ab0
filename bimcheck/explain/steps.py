"""The calculation of a panel, a step a rule: formula in symbols, in numbers, result, and where each number comes from."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from bimcheck.explain import combos, seismic, tests_of, wind
from bimcheck.explain.context import Context, Rule
from bimcheck.explain.formula import Statement, Worked, statements, worked
from bimcheck.explain.origins import origin, setting_text
from bimcheck.explain.quantity import Quantity

WIDE = 150  # characters of a line


def formula_of(context: Context, rule: Rule) -> tuple[str, dict[str, Quantity]]:
    """The formula to print, and symbols beyond what the rule reads."""
    found = wind.form(context, rule)
    if found:
        return found
    name = rule["name"]
    if name == "anchor-forces":
        return rule["formula"], combos.at_anchor(context)
    if name == "plate-moment":
        return rule["formula"], combos.in_plate(context)
    if name == "together":
        return combos.together(context, rule)
    if name == "earthquake-pressure":
        return seismic.form(context, rule)
    if name == "anchor-resistance":
        return rule["formula"], tests_of.look_up(context, rule)
    return rule["formula"], {}


def in_numbers(context: Context, rule: Rule) -> tuple[str, Worked]:
    """The formula, and its statements in numbers so far as they come to what the rule has."""
    formula, more = formula_of(context, rule)
    found, _ = statements(formula)
    given = {k: v for k, v in (_results_without_formula(context, rule, found) | context.known(rule) | more).items() if not math.isnan(v.value)}
    out = worked(found, given, context.units)
    out.lines = [line for line in out.lines if _holds(context, rule, line[0], line[3])]
    return formula, out


def _results_without_formula(context: Context, rule: Rule, found: list[Statement]) -> dict[str, Quantity]:
    """What the rule adds beside its statements (limits, for instance), which they may name."""
    defined = {rule["adds"][0] if s.left == "u" else s.left for s in found}
    stored = {name: context.quantity(rule["table"], name) for name in rule["adds"] if name not in defined}
    return {name: q for name, q in stored.items() if q is not None}


def _holds(context: Context, rule: Rule, left: str, result: Quantity) -> bool:
    """Whether a statement comes to the column it stands for (true for symbols that are no column)."""
    name = rule["adds"][0] if left == "u" else left
    stored = context.quantity(rule["table"], name) if name in rule["adds"] else None
    if stored is None:
        return left != "u"
    return math.isclose(stored.value, result.value, rel_tol=1e-6, abs_tol=1e-9) or (math.isinf(stored.value) and math.isinf(result.value))


def step(context: Context, rule: Rule, shown: set[str]) -> Iterator[str]:
    """Lines of one rule; `shown` collects what has been introduced."""
    slot = f", anchor A{context.value('anchors', 'slot')}" if rule["table"] == "anchors" else ""
    yield f"{rule['name']}{slot}: {rule['summary'].rstrip('.')}   [{rule['clause']}]"
    formula, out = in_numbers(context, rule)
    yield from _formula_lines(context, rule, formula, out)
    yield from (f"    {line}" for line in _details(context, rule))
    yield from _results(context, rule, {line[0] for line in out.lines})
    yield from _inputs(context, rule, shown)
    shown.update(rule["adds"])


def _formula_lines(context: Context, rule: Rule, formula: str, out: Worked) -> Iterator[str]:
    done = {left: (numbers, result) for left, _, numbers, result in out.lines}
    known, prose = statements(formula)
    for s in known:
        numbers, result = done.get(s.left, ("", None))
        if result is None:
            yield f"    {s.text}"
            continue
        name = rule["adds"][0] if s.left == "u" else s.left
        text = context.shown(rule["table"], name) if name in rule["adds"] else result.shown(context.units)
        line = f"    {s.text} = {numbers} = {text}"
        yield from [line] if len(line) <= WIDE else [f"    {s.text}", f"      = {numbers}", f"      = {text}"]
    yield from (f"    ({p})" for p in prose)


def _details(context: Context, rule: Rule) -> Iterator[str]:
    if rule["name"] == "anchor-resistance":
        yield from tests_of.lines(context)
    if rule["name"] == "anchor-forces":
        for line in combos.anchor_lines(context):
            yield _combination(context, line)
    if rule["name"] == "plate-moment":
        for line in combos.plate_lines(context, rule):
            yield _combination(context, line)


def _combination(context: Context, line: combos.Line) -> str:
    figures = ", ".join(f"{k} = {q.shown(context.units)}" for k, q in line.figures.items())
    return f"{'->' if line.governs else '  '} {line.combination.name:<28} {figures:<34} [{line.combination.clause}]"


def _results(context: Context, rule: Rule, worked_out: set[str]) -> Iterator[str]:
    """Columns that no statement in numbers has shown."""
    for i, name in enumerate(rule["adds"]):
        listed = isinstance(context.value(rule["table"], name), np.ndarray) and "combination" in rule["adds"]  # in the table of combinations
        if name not in worked_out and not (i == 0 and "u" in worked_out) and not listed:
            text = context.shown(rule["table"], name)
            yield f"    -> {name} = {text or 'blank'}   {context.column(rule['table'], name)['text']}"


def _inputs(context: Context, rule: Rule, shown: set[str]) -> Iterator[str]:
    """Each number the rule reads, with its origin the first time it is met."""
    panel = {k: str(context.value("panels", k) or "") for k in ("material", "item")}
    assumed = str(context.value("panels", "assumed_material") or "")
    alias = {meaning: symbol for symbol, meaning in rule.get("symbols", {}).items()}
    for name in rule["reads"]:
        column = context.column(rule["table"], name)
        if column["unit"] == "ragged" or (name in shown and name not in alias):
            continue
        symbol = f"{alias[name]} = " if name in alias else ""
        where = f"above: {context.made_by[name]}" if name in context.made_by else origin(name, str(column["table"]), panel, assumed)
        text = "" if name in shown else f"{column['text']} "
        yield f"      {symbol}{name} = {context.shown(rule['table'], name) or 'blank'}   {text}({where})"
        shown.add(name)
    for key, value in rule["settings"].items():
        if key not in shown:
            shown.add(key)
            yield f"      [{key}] = {value}   {setting_text(key)}"
