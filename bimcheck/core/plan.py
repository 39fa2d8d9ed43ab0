"""The plan: rules in the order of the columns they read, checked before any model is opened."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.core import units
from bimcheck.core.columns import PHASES, TABLE_PHASE, Column
from bimcheck.core.errors import PlanError
from bimcheck.core.rule import REQUIRED, Rule
from bimcheck.core.tables import PARENTS, Ragged, Table, Tables, gather

Known = dict[tuple[str, str], tuple[str, str]]  # (table, column) -> (unit, phase)


@dataclass(frozen=True)
class Step:
    rule: Rule
    phase: str
    settings: Mapping[str, Any]


@dataclass(frozen=True)
class Plan:
    steps: tuple[Step, ...]
    columns: Mapping[tuple[str, str], Column]  # every column of stages and rules

    def phase(self, phase: str) -> tuple[Step, ...]:
        return tuple(s for s in self.steps if s.phase == phase)

    def checks(self, table: str | None = None) -> tuple[Rule, ...]:
        return tuple(s.rule for s in self.steps if s.rule.check and table in (None, s.rule.table))

    def run(self, phase: str, tables: Tables) -> dict[str, Table]:
        """Run the rules of a phase; returns the tables with their added columns."""
        done = dict(tables)
        for step in self.phase(phase):
            if step.rule.table in done:
                done[step.rule.table] = apply(step, done)
        return done


def apply(step: Step, tables: Tables) -> Table:
    """Run one rule over its table."""
    table = tables[step.rule.table]
    got = {name: gather(tables, table.name, name) for name in step.rule.reads}
    missing = [name for name, column in got.items() if column is None]
    if missing:
        raise PlanError(f"rule {step.rule.name} needs {', '.join(missing)}", f"table {table.name}",
                        "a stage did not deliver a column it declares")
    result = step.rule.function(*got.values(), **step.settings)
    parts = result if isinstance(result, tuple) else (result,)
    return table.with_columns(**{
        column.name: _full(part, table.n) for column, part in zip(step.rule.adds, parts, strict=True)
    })


def _full(part: Any, n: int) -> Any:
    return part if isinstance(part, Ragged) else np.broadcast_to(np.asarray(part), (n, *np.shape(part)[1:])).copy() \
        if np.ndim(part) == 0 or len(part) != n else np.asarray(part)


def make_plan(rules: Sequence[Rule], given: Iterable[Column], settings: Mapping[str, Any]) -> Plan:
    """Order `rules` by what they read.

    given: the columns stages deliver.  settings: dotted key -> value.  Raises PlanError for a missing column, a column
    added twice, a unit clash, an unknown setting or a circle.
    """
    columns = {(c.table, c.name): c for c in given}
    known: Known = {key: (units.base(c.unit), c.phase) for key, c in columns.items()}
    _refuse_twice(rules, columns)
    steps: list[Step] = []
    waiting = list(rules)
    while waiting:
        ready = [r for r in waiting if all(_find(known, r.table, c) for c in r.reads)]
        if not ready:
            raise PlanError(*_stuck(waiting, known))
        for r in ready:
            phase = _check_units(r, known)
            steps.append(Step(r, phase, _settings(r, settings)))
            for c in r.adds:
                known[r.table, c.name] = (units.base(c.unit), phase)
                columns[r.table, c.name] = Column(c.name, c.unit, c.text, r.table, phase, c.file, c.file_unit, c.measure)
        waiting = [r for r in waiting if r not in ready]
    steps.sort(key=lambda s: PHASES.index(s.phase))
    return Plan(tuple(steps), columns)


def _refuse_twice(rules: Sequence[Rule], columns: Mapping[tuple[str, str], Column]) -> None:
    owner: dict[tuple[str, str], str] = dict.fromkeys(columns, "a stage")
    for r in rules:
        for c in r.adds:
            if (r.table, c.name) in owner:
                raise PlanError(f"column {c.name} of {r.table} is added twice", f"{owner[r.table, c.name]} and rule {r.name}",
                                "rename one, or leave one rule out of the project file")
            owner[r.table, c.name] = f"rule {r.name}"


def _find(known: Known, table: str, column: str) -> tuple[str, str] | None:
    if (table, column) in known:
        return known[table, column]
    for parent, _ in PARENTS.get(table, ()):
        found = _find(known, parent, column)
        if found:
            return found
    return None


def _check_units(r: Rule, known: Known) -> str:
    """The phase in which the rule can run; raises where a unit clashes."""
    phases = [TABLE_PHASE[r.table]]
    for column, unit in r.reads.items():
        found = _find(known, r.table, column)
        assert found is not None
        if found[0] != units.base(unit):
            raise PlanError(f"rule {r.name} reads {column} in {unit}, it is {found[0]}", r.room, "correct the annotation")
        phases.append(found[1])
    return max(phases, key=PHASES.index)


def _settings(r: Rule, settings: Mapping[str, Any]) -> dict[str, Any]:
    values = {}
    for parameter, (key, default) in r.settings.items():
        if key not in settings and default is REQUIRED:
            raise PlanError(f"rule {r.name} needs the setting {key}", r.room, "add it to the settings of its section")
        values[parameter] = settings.get(key, default)
    return values


def _stuck(waiting: Sequence[Rule], known: Known) -> tuple[str, str, str]:
    coming = {(r.table, c.name) for r in waiting for c in r.adds}
    for r in waiting:
        for column in r.reads:
            tables = {r.table, *(p for p, _ in PARENTS.get(r.table, ()))}
            if not _find(known, r.table, column) and not any((t, column) in coming for t in tables | {"panels", "candidates"}):
                return f"rule {r.name} reads {column}, which nothing adds", r.room, "add a rule that adds it, or correct the name"
    names = ", ".join(r.name for r in waiting)
    return f"rules wait for one another: {names}", waiting[0].room, "break the circle"
