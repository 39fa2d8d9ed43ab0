"""What a run looked at: what it did not see is not taken for settled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from bimcheck.core.tables import Table

NO_PART = "its model takes no part in this run"
NOT_SELECTED = "not looked at in this run: outside its selection"
WHOLE_DECIDES = "not found in this run, which looked at a selection: a run on the whole building decides"
# Columns of a panel that its neighbours, its facade or the building decide.
SURROUNDINGS = frozenset(("joint_left", "joint_right", "joint_bottom", "joint_top", "corner_distance", "s_left", "s_right", "z", "z_bottom", "z_top",
                          "h_building", "facade_b", "facade_d", "facade_length", "least_plan"))


@dataclass(frozen=True)
class Scope:
    """What took part in a run.

    models: names of its files (empty: those of its elements).  only: whether a query narrowed the elements.  wide: rules
    whose verdict on a panel hangs on its surroundings.  earlier: guid and model of the last run's elements.
    """

    models: frozenset[str] = frozenset()
    only: bool = False
    wide: frozenset[str] = frozenset()
    earlier: Table | None = None


def scope_of(facts: Mapping[str, Any], earlier: Table | None = None) -> Scope:
    """From the facts of a run: its models, its query, its rules."""
    return Scope(frozenset(str(m["name"]) for m in facts.get("models", [])), bool(facts.get("only")), wide_rules(facts.get("rules", [])), earlier)


def wide_rules(rules: Iterable[Mapping[str, Any]]) -> frozenset[str]:
    """Names of the rules that read, at first hand or through others, what a panel's surroundings decide.

    rules: in the order of the plan, each with name, reads and adds.
    """
    touched, names = set(SURROUNDINGS), set()
    for rule in rules:
        if touched & set(rule["reads"]):
            touched |= set(rule["adds"])
            names.add(str(rule["name"]))
    return frozenset(names)


@dataclass(frozen=True)
class Seen:
    """The GlobalIds considered, the files that took part, and the earlier names of files that took part under new ones."""

    guids: frozenset[Any]
    models: frozenset[Any]
    scope: Scope = field(default_factory=Scope)

    def why_not(self, row: Mapping[str, Any]) -> str:
        """Why the absence of an earlier issue says nothing; blank where it was looked for."""
        sides = [(row["guid"], row["model"]), (row["other_guid"], row["other_model"])]
        if any(model and model not in self.models and guid not in self.guids for guid, model in sides):
            return NO_PART
        if not self.scope.only:
            return ""
        if row["guid"] not in self.guids or (row.get("other_considered", 0) == 1 and row["other_guid"] not in self.guids):
            return NOT_SELECTED
        return WHOLE_DECIDES if row["rule"] in self.scope.wide else ""


def seen(elements: Table, scope: Scope, earlier_issues: Iterable[Mapping[str, Any]]) -> Seen:
    """Files are known by name; one whose elements turn up under another name was renamed with its revision."""
    guids = frozenset(elements["guid"].tolist())
    known = [(r[g], r[m]) for r in earlier_issues for g, m in (("guid", "model"), ("other_guid", "other_model"))]
    if scope.earlier is not None:
        known += zip(scope.earlier["guid"].tolist(), scope.earlier["model"].tolist(), strict=True)
    renamed = {model for guid, model in known if guid in guids}
    return Seen(guids, (scope.models or frozenset(elements["model"].tolist())) | renamed, scope)
