"""Topics of an issue file: what a group of issues says, in plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.write.rule_names import ISSUE_RULES
from bimcheck.write.workbook_issues_rows import CLASH, members, standing

LISTED = 50  # members named in a description
SELECTED = 1000  # components of a viewpoint


@dataclass(frozen=True)
class Note:
    """What a person typed beside issues: the issue whose note it is, who, and the text."""

    issue: str
    who: str
    text: str


@dataclass(frozen=True)
class Topic:
    """A group of issues.  members: the rows, those that stand first; open_: those to show (all, where none stands)."""

    guid: str
    number: int
    title: str
    kind: str
    status: str
    severity: str
    labels: tuple[str, ...]
    assigned: str
    description: str
    notes: tuple[Note, ...]
    members: Table
    open_: Table

    @property
    def components(self) -> list[str]:
        """GlobalIds of panels and of what they meet; those of the panels first."""
        both = [*self.open_["guid"].tolist(), *self.open_["other_guid"].tolist()]
        return [g for g in dict.fromkeys(both) if len(g) == 22][:SELECTED]


def topics(rows: Table, rules: Mapping[str, str]) -> list[Topic]:
    """One topic a group, by number.  rows: issues in the units shown, with `no`; rules: what a check's name means."""
    listed = members(rows)
    starts = np.flatnonzero(np.r_[True, np.diff(listed["no"]) != 0]) if listed.n else []
    return [_topic(listed.take(np.arange(a, b)), {**ISSUE_RULES, **rules}) for a, b in zip(starts, [*starts[1:], listed.n], strict=True)]


def _topic(held: Table, meanings: Mapping[str, str]) -> Topic:
    stands = standing(held)
    first = {k: held[k][0] for k in ("topic", "no", "group", "rule", "severity")}
    status = "Open" if stands.any() else "Accepted" if (held["state"] == "accepted").any() else "Closed"
    who = {w for w in held["assignee"].tolist() if w}
    rule = str(first["rule"])
    return Topic(
        str(first["topic"]), int(first["no"]), str(first["group"]), "Clash" if rule in CLASH or rule == "panel-overlap" else "Issue", status,
        str(first["severity"]), (rule, *sorted({f"facade {f}" for f in held["facade"].tolist() if f})), who.pop() if len(who) == 1 else "",
        _description(held, meanings.get(rule, "")), _notes(held), held, held.take(stands) if stands.any() else held)


def _description(held: Table, meaning: str) -> str:
    stands = int(standing(held).sum())
    lines = [f"{held.n} issue{'s' if held.n > 1 else ''}, {stands} standing. {meaning}".strip()]
    ways = [w for w in dict.fromkeys(held["way_out"].tolist()) if w]
    lines += [f"Way out: {ways[0]}"] if ways else []
    for k in range(min(held.n, LISTED)):
        lines.append(_line({c: held[c][k] for c in ("issue", "state", "mark", "guid", "storey", "facade", "grid", "text", "measured", "required", "unit")}))
    lines += [f"... and {held.n - LISTED} more"] if held.n > LISTED else []
    return "\n".join([*lines, "Preliminary design aid; local codes and the engineer of record decide."])


def _line(row: Mapping[str, Any]) -> str:
    where = ", ".join(str(row[k]) for k in ("storey", "facade", "grid") if row[k])
    figures = f" [{row['measured']:.4g} of {row['required']:.4g} {row['unit']}]".replace(" ]", "]") if np.isfinite(row["measured"]) and \
        np.isfinite(row["required"]) else ""
    return f"- {row['issue']} ({row['state']}) {row['mark'] or row['guid']}{f' ({where})' if where else ''}: {row['text']}{figures}"


def _notes(held: Table) -> tuple[Note, ...]:
    found = zip(*(held[k].tolist() for k in ("issue", "assignee", "status", "comment")), strict=True)
    return tuple(Note(i, who, f"{i}: {': '.join(t for t in (status, comment) if t)}") for i, who, status, comment in found if status or comment)
