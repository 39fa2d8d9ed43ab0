"""Checks that fail, as issues: one a panel and check, with the worst anchor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from bimcheck.clash.places import Floats, Ints, column, world
from bimcheck.core.issue import Issue
from bimcheck.core.rule import Rule
from bimcheck.core.tables import Table, Tables, gather

PASS = 1.0 + 1e-9  # as the result has it
LEAST = ("_required", "_room")  # names of demands that are least values


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """An error for every panel and check whose utilisation exceeds 1, under the check's own name.

    settings["checks"]: the plan's checks.  measured is the demand and required the limit (mm, MPa, N ... as the columns
    have it; for least values what is there against what is needed), else the utilisation against 1.
    """
    checks: Sequence[Rule] = settings.get("checks", ())
    return [issue for rule in checks if rule.table in tables for issue in _failing(tables, rule)]


def _failing(tables: Tables, rule: Rule) -> list[Issue]:
    table = tables[rule.table]
    name = rule.adds[0].name
    if name not in table or "panels" not in tables:
        return []
    u = np.asarray(table[name], dtype=float)
    panel = _panel_of(tables, rule.table)
    rows = np.flatnonzero((u > PASS) & (panel >= 0))
    worst, many = _worst(rows, panel, u)
    values = (u, _number(tables, rule, rule.demand), _number(tables, rule, rule.limit))
    owner = panel[worst]
    element = tables["panels"]["element"][owner] if "element" in tables["panels"] else owner
    ways = column(tables["panels"], "way_out")[owner]
    place = _places(tables, rule, worst, element)
    group = _groups(rule, column(tables["panels"], "material")[owner], column(tables["panels"], "facade")[owner])
    rows = zip(worst.tolist(), many.tolist(), element.tolist(), ways.tolist(), group, place.tolist(), strict=True)
    return [_issue(tables[rule.table], rule, r, values, n, panel=e, way_out=str(w), group=g, x=x, y=y, z=z)
            for r, n, e, w, g, (x, y, z) in rows]


def _groups(rule: Rule, material: np.ndarray, facade: np.ndarray) -> list[str]:
    """One matter for a meeting: the same check fails in the same material on the same facade."""
    return [", ".join(filter(None, (rule.adds[0].text, str(m), f"facade {f}" if f else ""))) for m, f in zip(material, facade, strict=True)]


def _panel_of(tables: Tables, name: str) -> np.ndarray:
    """Row of panels of every row of the table; -1 where there is none."""
    table = tables[name]
    if name == "panels":
        return np.arange(table.n)
    found = gather(tables, name, "panel")
    return np.full(table.n, -1) if found is None else np.asarray(found, dtype=np.int64)


def _worst(rows: np.ndarray, panel: np.ndarray, u: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The failing row with the greatest utilisation of each panel, and how many of its rows fail."""
    order = rows[np.lexsort((rows, -u[rows], panel[rows]))]
    _, first, many = np.unique(panel[order], return_index=True, return_counts=True)
    return order[first], many


def _number(tables: Tables, rule: Rule, name: str) -> Floats | None:
    found = gather(tables, rule.table, name) if name else None
    if not isinstance(found, np.ndarray) or found.ndim != 1 or found.dtype == object:
        return None
    return found.astype(float)


def _issue(table: Table, rule: Rule, r: int, values: tuple[Floats, Floats | None, Floats | None], many: int, **more: Any) -> Issue:
    u, demand, limit = values
    anchor = f"A{int(table['slot'][r])}" if "slot" in table else ""
    where = f" at {anchor}" + (f" and {many - 1} more" if many > 1 else "") if anchor else ""
    measured, required, unit = float(u[r]), 1.0, ""
    if demand is not None and limit is not None and _tells(u[r], demand[r], limit[r]):
        measured, required, unit = float(demand[r]), float(limit[r]), _unit(rule)
        if rule.demand.endswith(LEAST):  # a least value is demanded: what is there is the limit's column
            measured, required = required, measured
    text = rule.adds[0].text
    how = f"utilisation {u[r]:.2f}" if np.isfinite(u[r]) else "cannot hold at all"
    return Issue(rule.name, "error", f"{text}{where}: {how}", key=rule.adds[0].name, measured=measured,
                 required=required, unit=unit, **more)


def _tells(u: float, demand: float, limit: float) -> bool:
    """Whether demand over limit is the utilisation (of interactions it is not), or there is no room at all."""
    return not np.isfinite(u) or (limit > 0 and bool(np.isclose(demand / limit, u, rtol=1e-3)))


def _unit(rule: Rule) -> str:
    return str(rule.reads.get(rule.demand) or rule.reads.get(rule.limit)
               or next((c.unit for c in rule.adds if c.name in (rule.demand, rule.limit)), ""))


def _places(tables: Tables, rule: Rule, rows: Ints, element: Ints) -> Floats:
    """(k, 3) the anchor's mouth, else the centre of the panel."""
    table, elements = tables[rule.table], tables.get("elements")
    if "wx" in table:
        return np.column_stack([table[k][rows] for k in ("wx", "wy", "wz")])
    if elements is None:
        return np.full((len(rows), 3), np.nan)
    return world(elements, element, elements["width"][element] / 2, elements["height"][element] / 2)
