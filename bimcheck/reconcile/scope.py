"""What a run looked at: what it did not see is not taken for settled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from bimcheck.core.tables import Table

NO_PART = "its model takes no part in this run"
NOT_SELECTED = "not looked at in this run: outside its selection"
WHOLE_DECIDES = "not found in this run, which looked at a part: a run on the whole building decides"
# Rules that a panel answers by itself, those that two panels answer, and those of bodies around the anchors chosen.
OWN = frozenset(("material-missing", "zero-thickness", "no-geometry", "degenerate-geometry", "cutout-near-edge", "curved-panel", "tapered-panel",
                 "folded-panel", "profiled-panel", "duplicate-property-set", "duplicate-guid"))
PAIRS = frozenset(("joint-width", "joint-wide", "panel-overlap", "panel-step"))
BODIES = frozenset(("anchor-clash", "fastener-in-zone", "behind-panel", "cavity-small"))
# Columns of a panel that its neighbours, its facade or the building decide.
SURROUNDINGS = frozenset(("joint_left", "joint_right", "joint_bottom", "joint_top", "corner_distance", "s_left", "s_right", "z", "z_bottom", "z_top",
                          "h_building", "facade_b", "facade_d", "facade_length", "least_plan"))


@dataclass(frozen=True)
class Scope:
    """What took part in a run.

    models: names of its files (empty: those of its elements).  only: whether a query narrowed the elements.  narrow: checks
    whose verdict on a panel does not hang on its surroundings.  earlier, last: elements (guid, model) and files of the last
    run: a file that is missing now may have decided things; once it has been missing for a run, the building is without it.
    """

    models: frozenset[str] = frozenset()
    only: bool = False
    narrow: frozenset[str] = frozenset()
    earlier: Table | None = None
    last: frozenset[str] = frozenset()


def scope_of(facts: Mapping[str, Any], earlier: Table | None = None, last: Mapping[str, Any] | None = None) -> Scope:
    """From the facts of a run (its models, its query, its rules) and those of the last."""
    return Scope(_names(facts), bool(facts.get("only")), narrow_checks(facts.get("rules", [])), earlier, _names(last or {}))


def _names(facts: Mapping[str, Any]) -> frozenset[str]:
    return frozenset(str(m["name"]) for m in facts.get("models", []))


def narrow_checks(rules: Iterable[Mapping[str, Any]]) -> frozenset[str]:
    """Names of the checks that read nothing, at first hand or through others, that a panel's surroundings decide.

    rules: in the order of the plan, each with name, reads, adds and check.
    """
    touched, names = set(SURROUNDINGS), set()
    for rule in rules:
        if touched & set(rule["reads"]):
            touched |= set(rule["adds"])
        elif rule["check"]:
            names.add(str(rule["name"]))
    return frozenset(names)


@dataclass(frozen=True)
class Seen:
    """The GlobalIds considered, the files that took part (under any name), and whether files of the last run are missing."""

    guids: frozenset[Any]
    models: frozenset[Any]
    missing: bool
    scope: Scope = field(default_factory=Scope)

    def why_not(self, row: Mapping[str, Any]) -> str:
        """Why the absence of an earlier issue says nothing; blank where it was looked for."""
        sides = [(row["guid"], row["model"]), (row["other_guid"], row["other_model"])]
        if any(model and model not in self.models and guid not in self.guids for guid, model in sides):
            return NO_PART
        if self.scope.only and not self._selected(row):
            return NOT_SELECTED
        return "" if not (self.scope.only or self.missing) or self._judged(str(row["rule"])) else WHOLE_DECIDES

    def _selected(self, row: Mapping[str, Any]) -> bool:
        return row["guid"] in self.guids and (row.get("other_considered", 0) != 1 or row["other_guid"] in self.guids)

    def _judged(self, rule: str) -> bool:
        """Whether a run on a part settles the rule: the layout, and with it the anchors' clashes, may follow rails of another file."""
        return rule in OWN or rule in PAIRS or rule in self.scope.narrow or (rule in BODIES and not self.missing)


def seen(elements: Table, scope: Scope, earlier_issues: Iterable[Mapping[str, Any]]) -> Seen:
    """Files are known by name; one whose elements turn up under another name was renamed with its revision."""
    guids = frozenset(elements["guid"].tolist())
    known = [(r[g], r[m]) for r in earlier_issues for g, m in (("guid", "model"), ("other_guid", "other_model"))]
    if scope.earlier is not None:
        known += zip(scope.earlier["guid"].tolist(), scope.earlier["model"].tolist(), strict=True)
    renamed = {model for guid, model in known if guid in guids}
    models = (scope.models or frozenset(elements["model"].tolist())) | renamed
    return Seen(guids, models, not scope.last <= models, scope)
