"""What a run hands on: tables and facts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bimcheck.core.plan import Plan
from bimcheck.core.tables import Table


@dataclass(frozen=True)
class Result:
    """The result of a run.

    tables: elements, panels, facades, layouts, candidates, anchors, joints, obstacles, issues, standardisation.
    facts: everything else that run.json and the store keep (plain data): version, models, settings, assumptions, counts,
    seconds, rules, columns.
    """

    tables: Mapping[str, Table]
    facts: Mapping[str, Any] = field(default_factory=dict)

    @property
    def units(self) -> str:
        return str(self.facts.get("units", "si"))

    @property
    def exit_status(self) -> int:
        return int(self.facts.get("exit_status", 0))


def plan_facts(plan: Plan) -> dict[str, Any]:
    """Rules and columns as plain data, for explanations and docs."""
    return {
        "rules": [
            {"name": s.rule.name, "table": s.rule.table, "phase": s.phase, "clause": s.rule.clause, "formula": s.rule.formula,
             "reads": list(s.rule.reads), "adds": [c.name for c in s.rule.adds], "check": s.rule.check,
             "mandatory": s.rule.mandatory, "demand": s.rule.demand, "limit": s.rule.limit, "summary": s.rule.summary,
             "room": s.rule.room, "symbols": dict(s.rule.symbols), "settings": {key: _plain(s.settings[p]) for p, (key, _) in s.rule.settings.items()}}
            for s in plan.steps
        ],
        "columns": [
            {"name": c.name, "unit": c.unit, "text": c.text, "table": c.table, "phase": c.phase, "file": c.file,
             "file_unit": c.file_unit, "measure": c.measure} for c in plan.columns.values()
        ],
    }


def _plain(value: Any) -> Any:
    return value if isinstance(value, (bool, int, float, str, type(None))) else f"({type(value).__name__})"
