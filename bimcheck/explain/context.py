"""One panel of a run with its selected layout and an anchor: values as formulas read them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Ragged, gather
from bimcheck.explain.origins import setting_unit
from bimcheck.explain.quantity import UNITS, Quantity, quantity
from bimcheck.result import Result

Rule = Mapping[str, Any]
STRENGTH = ("u_tension", "u_shear", "u_interaction", "u_bolt")
PARENTS = ("candidates", "layouts", "panels", "facades")


@dataclass(frozen=True)
class Context:
    """rows: row of each table (panels always; candidates and anchors where a layout was chosen)."""

    result: Result
    rows: Mapping[str, int]
    units: str = "si"

    @cached_property
    def columns(self) -> dict[tuple[str, str], Mapping[str, Any]]:
        return {(c["table"], c["name"]): c for c in self.result.facts["columns"]}

    @cached_property
    def rules(self) -> list[Rule]:
        return [r for r in self.result.facts["rules"] if r["table"] in self.rows]

    @cached_property
    def made_by(self) -> dict[str, str]:
        """Column -> rule that adds it."""
        return {name: r["name"] for r in self.result.facts["rules"] for name in r["adds"]}

    @property
    def anchors(self) -> np.ndarray:
        """Rows of the anchors of the layout, by slot."""
        if "candidates" not in self.rows:
            return np.empty(0, dtype=np.int64)
        return np.flatnonzero(self.result.tables["anchors"]["candidate"] == self.rows["candidates"])

    def at(self, anchor: int) -> Context:
        """The same panel seen from another anchor."""
        return replace(self, rows={**self.rows, "anchors": anchor})

    def value(self, table: str, name: str) -> Any:
        """What a rule on the table reads as `name`; None where there is none or it is ragged."""
        if table not in self.rows:
            return None
        column = gather(self.result.tables, table, name)
        return None if column is None or isinstance(column, Ragged) else column[self.rows[table]]

    def number(self, name: str, table: str = "panels") -> float:
        found = self.value(table, name)
        return float("nan") if found is None else float(found)

    def column(self, table: str, name: str) -> Mapping[str, Any]:
        """Unit and sentence of a column as seen from the table."""
        for where in (table, *PARENTS):
            if (where, name) in self.columns:
                return self.columns[where, name]
        return {"unit": "", "text": "", "table": table}

    def quantity(self, table: str, name: str) -> Quantity | None:
        """A number with its unit; None for texts and vectors."""
        found, unit = self.value(table, name), str(self.column(table, name)["unit"])
        if found is None or np.ndim(found) or isinstance(found, str) or unit not in UNITS:
            return None
        return quantity(float(found), unit, name)

    def known(self, rule: Rule) -> dict[str, Quantity]:
        """Everything a rule's formula may name: what it reads, its settings, what its symbols stand for."""
        out: dict[str, Quantity] = {}
        for name in rule["reads"]:
            out |= _one(name, self.quantity(rule["table"], name))
        for key, value in rule["settings"].items():
            out |= _one(key.rpartition(".")[2], _setting(key, value))
        for symbol, meaning in rule.get("symbols", {}).items():
            out |= _one(symbol, out.get(meaning) or _constant(meaning))
        return out

    def shown(self, table: str, name: str) -> str:
        """The value of a column for people."""
        q = self.quantity(table, name)
        if q is not None:
            return q.shown(self.units)
        found = self.value(table, name)
        if isinstance(found, np.ndarray):
            return "(" + ", ".join(f"{v:.4g}" for v in found.tolist()) + ")"
        return "" if found is None else str(found)


def _one(name: str, found: Quantity | None) -> dict[str, Quantity]:
    return {} if found is None else {name: found}


def _setting(key: str, value: Any) -> Quantity | None:
    unit = setting_unit(key)
    return quantity(value, unit) if isinstance(value, (int, float)) and not isinstance(value, bool) and unit in UNITS else None


def _constant(text: str) -> Quantity | None:
    """"9.80665 m/s2"."""
    figure, _, unit = text.partition(" ")
    try:
        return quantity(float(figure), unit) if unit in UNITS else None
    except ValueError:
        return None


def find(result: Result, key: str, units: str | None = None, anchor: str = "") -> Context:
    """The panel called `key` (GlobalId, mark, name or fabrication mark); raises InputError where there is none.  units: si or
    us, by default the run's.  anchor: its name (A3), by default the one with the greatest utilisation."""
    panels = result.tables["panels"]
    for column in ("guid", "mark", "name", "drill_mark"):
        if column in panels:
            found = np.flatnonzero(panels[column].astype(str) == key)
            if len(found):
                return _at_anchor(_context(result, int(found[0]), units or result.units), anchor)
    elements = result.tables["elements"]
    for column in ("guid", "mark", "name"):
        found = np.flatnonzero(elements[column].astype(str) == key)
        if len(found):
            raise InputError(f"{key} is {elements['status'][found[0]]}: {elements['reason'][found[0]]}", "panels.csv", "nothing was calculated for it")
    raise InputError(f"nothing is called '{key}'", "this run", "pass a GlobalId, mark or name of panels.csv, or a rule of `bimcheck plan`")


def _at_anchor(context: Context, anchor: str) -> Context:
    if not anchor:
        return context
    names = {f"A{context.result.tables['anchors']['slot'][row]}": int(row) for row in context.anchors}
    if anchor not in names:
        raise InputError(f"no anchor {anchor}", "this panel", f"its anchors are {', '.join(names) or 'none'}")
    return context.at(names[anchor])


def _context(result: Result, panel: int, units: str) -> Context:
    """With the anchor of the greatest utilisation in tension, shear, both and the bolt."""
    candidates, anchors = result.tables["candidates"], result.tables["anchors"]
    mine = np.flatnonzero(candidates["panel"] == panel) if candidates.n else np.empty(0, dtype=int)
    rows = {"panels": panel}
    facade = int(result.tables["panels"]["facade_index"][panel])
    rows |= {"facades": facade} if 0 <= facade < result.tables["facades"].n else {}
    if len(mine):
        of = np.flatnonzero(anchors["candidate"] == mine[0])
        u = [np.asarray(anchors[k], dtype=float)[of] for k in STRENGTH if k in anchors]
        worst = np.fmax.reduce(u, initial=0.0) if u else np.zeros(len(of))
        rows |= {"candidates": int(mine[0]), "anchors": int(of[np.argmax(worst)])}
    return Context(result, rows, units)
