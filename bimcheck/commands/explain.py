"""bimcheck explain: the numbers behind a panel, or what a rule means."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck import store
from bimcheck.core.errors import InputError
from bimcheck.core.tables import Ragged, gather
from bimcheck.plate.strip_check import EQUAL_MOMENTS, midspan_moment, support_moment, tributary_force
from bimcheck.result import Result
from bimcheck.write.rule_names import ISSUE_RULES

HELP = "print a panel's numbers with formula, inputs and clause (KEY = GlobalId, mark or name), or what a rule means"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("key", metavar="KEY", help="GlobalId, mark or name of a panel, or the name of a rule or check")
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, default=Path("bimcheck-out"), help="folder of the run")


def run(args: argparse.Namespace) -> int:
    if args.key in ISSUE_RULES:
        print(f"{args.key}: {ISSUE_RULES[args.key]}")
        return 0
    result = store.load(args.output)
    rules = [r for r in result.facts["rules"] if r["name"] == args.key or args.key in r["adds"]]
    print("\n".join(_rule_text(rules[0]) if rules else panel_text(result, args.key)))
    return 0


def _rule_text(rule: Mapping[str, Any]) -> Iterator[str]:
    yield f"{rule['name']}: {rule['summary']}"
    yield f"  clause    {rule['clause']}"
    yield f"  formula   {rule['formula']}"
    yield f"  table     {rule['table']} (phase {rule['phase']}, {rule['room']})"
    yield f"  reads     {', '.join(rule['reads'])}"
    yield f"  adds      {', '.join(rule['adds'])}"
    for key, value in rule["settings"].items():
        yield f"  setting   {key} = {value}"


def panel_text(result: Result, key: str) -> Iterator[str]:
    """Lines for one panel; raises InputError where there is none."""
    row = _panel(result, key)
    panels = result.tables["panels"]
    units = {(c["table"], c["name"]): c for c in result.facts["columns"]}
    yield f"{panels['name'][row]} ({panels['guid'][row]}), mark {panels['mark'][row] or '-'}: {panels['result'][row]}"
    yield f"governing {panels['governing_check'][row]}, utilisation {_number(panels['utilisation'][row])}"
    if panels["reason"][row]:
        yield f"reason {panels['reason'][row]}"
    rows = {"panels": row, **_children(result, row)}
    shown: set[tuple[str, str]] = set()
    for rule in result.facts["rules"]:
        if rule["table"] in rows:
            yield ""
            yield from _step(result, rule, rows, units, shown)
    yield ""
    yield from _cross_checks(result, rows)
    yield "Preliminary design aid: the responsible engineer and local codes decide."


def _panel(result: Result, key: str) -> int:
    panels = result.tables["panels"]
    for column in ("guid", "mark", "name", "drill_mark"):
        if column in panels:
            found = np.flatnonzero(panels[column].astype(str) == key)
            if len(found):
                return int(found[0])
    elements = result.tables["elements"]
    found = np.flatnonzero(elements["guid"] == key)
    if len(found):
        raise InputError(f"{key} is {elements['status'][found[0]]}: {elements['reason'][found[0]]}", "panels.csv", "nothing was calculated for it")
    raise InputError(f"nothing is called '{key}'", "this run", "pass a GlobalId, mark or name of panels.csv, or a rule of `bimcheck plan`")


def _children(result: Result, row: int) -> dict[str, int]:
    """Rows of the candidate and of its anchor with the greatest tension."""
    candidates, anchors = result.tables["candidates"], result.tables["anchors"]
    mine = np.flatnonzero(candidates["panel"] == row)
    if not len(mine):
        return {}
    of = np.flatnonzero(anchors["candidate"] == mine[0])
    worst = of[np.argmax(np.nan_to_num(anchors["N_Ed"][of]))]
    return {"candidates": int(mine[0]), "anchors": int(worst)}


def _step(result: Result, rule: Mapping[str, Any], rows: Mapping[str, int], units: Mapping[tuple[str, str], Any], shown: set[tuple[str, str]]) -> Iterator[str]:
    table = rule["table"]
    slot = f" (anchor A{result.tables['anchors']['slot'][rows['anchors']]})" if table == "anchors" else ""
    yield f"{rule['name']}{slot}   [{rule['clause']}]"
    yield f"    {rule['formula']}"
    for name in rule["reads"]:
        column = gather(result.tables, table, name)
        if column is not None and not isinstance(column, Ragged):
            yield f"      {name} = {_number(column[rows[table]])} {_unit(units, table, name)}".rstrip()
    for key, value in rule["settings"].items():
        yield f"      [{key}] = {value}"
    for name in rule["adds"]:
        yield f"    {name} = {_number(result.tables[table][name][rows[table]])} {_unit(units, table, name)}".rstrip()


def _cross_checks(result: Result, rows: Mapping[str, int]) -> Iterator[str]:
    """Strips and shares of the area: to see the order of size, never used instead of the plate (they are not safe)."""
    if "candidates" not in rows:
        return
    panels, anchors, row = result.tables["panels"], result.tables["anchors"], rows["panels"]
    mine = np.flatnonzero(anchors["candidate"] == rows["candidates"])
    q, L, c = float(abs(panels["w_suction"][row])), float(panels["width"][row]), float(anchors["x"][mine].min())
    yield "cross-checks (strips and equal shares, for the order of size only; characteristic wind)"
    yield f"    equal share of each anchor, q A / n = {_number(tributary_force(q, float(panels['net_area'][row]), len(mine)))} N"
    yield f"    strip of unit width, supports at c = {_number(c)} mm of L = {_number(L)} mm (equal moments at {EQUAL_MOMENTS:.4f} L):"
    yield f"      over the supports {_number(support_moment(q, c))}, midspan {_number(midspan_moment(q, L, c))} N mm/mm"
    yield ""


def _unit(units: Mapping[tuple[str, str], Any], table: str, name: str) -> str:
    for where in (table, "candidates", "layouts", "panels", "facades"):
        if (where, name) in units:
            unit = str(units[where, name]["unit"])
            return "" if unit in ("text", "1", "flag", "count") else unit
    return ""


def _number(value: Any) -> str:
    if isinstance(value, np.ndarray):
        return "[" + ", ".join(_number(v) for v in value) + "]"
    if isinstance(value, (float, np.floating)):
        return "nan" if np.isnan(value) else f"{value:.6g}"
    return str(value)
