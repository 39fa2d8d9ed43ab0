"""One run's issues against the last run's: ids that last, states, and what people decided."""

from __future__ import annotations

import base64
import hashlib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.core.tables import Table

NEW, OPEN, RESOLVED, ACCEPTED = "new", "open", "resolved", "accepted"
WORSE = 0.05  # by which a shortfall may grow before an acceptance falls: figures are written to 0.1
TYPED = ("status", "assignee", "comment")  # columns that belong to people
WAS_ACCEPTED = "was accepted"


def identities(issues: Table) -> list[str]:
    """A short id for every row, from rule, GlobalIds (in either order) and key; equal ones are told apart by ordinal.

    The order of the files or of the panels plays no part, but for matters that cannot be told apart.
    """
    seen: Counter[str] = Counter()
    made = []
    for rule, a, b, key in zip(*(issues[k].tolist() for k in ("rule", "guid", "other_guid", "key")), strict=True):
        matter = "\x1f".join((rule, *sorted((str(a), str(b))), str(key)))
        again = seen[matter]
        seen[matter] += 1
        made.append(_short(f"{matter}\x1f{again}" if again else matter))
    return made


def _short(text: str) -> str:
    """Ten letters and digits of the hash: 50 bits."""
    return base64.b32encode(hashlib.sha256(text.encode()).digest()).decode()[:10]


def reconcile(issues: Table, previous: Table | None = None, typed: Table | None = None) -> Table:
    """Add issue, state, note and the typed columns; keep what the last run had and this one has not as resolved.

    issues: rows of `describe`.  previous: rows of the last issues.csv (issue, state, shortfall and the rest).
    typed: issue, status, assignee, comment as people left them.  An issue is accepted where the status says so and the
    comment gives the reason; that holds until the shortfall grows, and then the status says "was accepted", so that a
    person decides anew.
    """
    ids = identities(issues)
    before = _by_id(previous)
    people = _by_id(typed)
    verdicts = [_verdict(float(s), before.get(i), people.get(i, {})) for i, s in zip(ids, issues["shortfall"].tolist(), strict=True)]
    columns = {**issues.columns, "issue": np.array(ids, dtype=object), **_columns(verdicts)}
    return _with_resolved(Table("issues", issues.n, columns), before, people)


@dataclass(frozen=True)
class Verdict:
    state: str
    note: str = ""
    status: str = ""
    assignee: str = ""
    comment: str = ""


def _verdict(shortfall: float, before: Mapping[str, Any] | None, people: Mapping[str, Any]) -> Verdict:
    status, assignee, comment = (str(people.get(k, "")) for k in TYPED)
    state = NEW if before is None else OPEN
    note = "reopened: it was resolved" if before is not None and before["state"] == RESOLVED else ""
    if status.strip().lower() != ACCEPTED:
        return Verdict(state, note, status, assignee, comment)
    if not comment.strip():
        return Verdict(state, "accepted without a reason: write it in the comment", status, assignee, comment)
    if before is not None and before["state"] == ACCEPTED and shortfall > float(before["shortfall"]) + WORSE:
        return Verdict(OPEN, f"reopened: accepted at a shortfall of {float(before['shortfall']):g}, now {shortfall:g}",
                       WAS_ACCEPTED, assignee, comment)
    return Verdict(ACCEPTED, "", status, assignee, comment)


def _columns(verdicts: list[Verdict]) -> dict[str, Any]:
    return {k: np.array([getattr(v, k) for v in verdicts], dtype=object) for k in ("state", "note", *TYPED)}


def _by_id(table: Table | None) -> dict[str, dict[str, Any]]:
    if table is None or not table.n:
        return {}
    names = list(table)
    rows = zip(*(table[k].tolist() for k in names), strict=True)
    return {str(r["issue"]): r for r in (dict(zip(names, row, strict=True)) for row in rows)}


def _with_resolved(now: Table, before: Mapping[str, Mapping[str, Any]], people: Mapping[str, Mapping[str, Any]]) -> Table:
    here = set(now["issue"].tolist())
    gone = [r for i, r in before.items() if i not in here]
    columns = {k: np.concatenate([c, _past(k, c, gone, people)]) for k, c in now.columns.items()}
    return Table("issues", now.n + len(gone), columns)


def _past(name: str, like: np.ndarray, gone: list[Mapping[str, Any]], people: Mapping[str, Mapping[str, Any]]) -> np.ndarray:
    if name == "state":
        values: list[Any] = [RESOLVED] * len(gone)
    elif name in TYPED:
        values = [people.get(str(r["issue"]), r).get(name, "") for r in gone]
    else:
        missing = float("nan") if like.dtype == float else ""
        values = [r.get(name, missing) for r in gone]
    return np.array(values, dtype=like.dtype)


def standing(issues: Table, severity: str) -> int:
    """Number of issues, new or open, of the severity or a graver one: what raises the exit status."""
    grave = ("error", "warning", "info")
    counted = grave[: grave.index(severity) + 1]
    return int((np.isin(issues["state"], (NEW, OPEN)) & np.isin(issues["severity"], counted)).sum())
