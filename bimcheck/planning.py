"""The plan of a run: the rules the project asks for, through the plug-in door."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bimcheck.actions.combinations import combinations
from bimcheck.actions.seismic import NOT_BUILT
from bimcheck.core import plugins
from bimcheck.core.errors import PlanError
from bimcheck.core.plan import Plan, make_plan
from bimcheck.core.rule import Rule, rules_of
from bimcheck.core.vocabulary import STAGE_COLUMNS
from bimcheck.project import Settings

Finder = Callable[..., Any]


def plan_of(settings: Settings) -> Plan:
    """Load the rule modules by name and order their rules; raises PlanError before any model is opened."""
    _refuse_what_does_not_go_together(settings)
    chosen = settings.project.plugins
    names = [settings.project.wind.standard, *chosen.rules, *chosen.more_rules]
    rules: list[Rule] = [r for name in dict.fromkeys(names) for r in rules_of(plugins.load("bimcheck.rules", name))]
    return make_plan(rules, STAGE_COLUMNS, settings.values)


def _refuse_what_does_not_go_together(settings: Settings) -> None:
    """The basis of the standard's wind against the format of the combinations (tables state theirs when they are read)."""
    wind, actions = settings.project.wind, settings.project.actions
    basis = "characteristic" if wind.standard.startswith("en1991") else wind.asce_basis if wind.standard.startswith("asce7") else ""
    combinations(actions.format, basis)
    if settings.project.seismic.standard == "asce7-22":
        raise PlanError(*NOT_BUILT)


def finders_of(settings: Settings) -> dict[str, Finder]:
    """The finders by name: those the project file names, else all that are installed."""
    wanted = settings.project.plugins.finders
    names = plugins.names("bimcheck.finders") if wanted is None else wanted
    return {name: plugins.load("bimcheck.finders", name) for name in names}
