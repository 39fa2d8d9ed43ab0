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
from bimcheck.reconcile.describe import describe
from bimcheck.reconcile.scope import Scope, Seen, seen
from bimcheck.reconcile.topics import topics

NEW, OPEN, RESOLVED, ACCEPTED = "new", "open", "resolved", "accepted"
# By which a shortfall may grow before an acceptance falls: figures in mm are written to 0.1, others move with what is required.
WORSE_MM, WORSE_SHARE = 0.05, 0.005
_LAST = {ACCEPTED: 1, RESOLVED: 2}
_GRAVE = ("error", "warning", "info")
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


def reconcile(issues: Table, elements: Table, previous: Table | None = None, typed: Table | None = None, scope: Scope | None = None) -> Table:
    """The issues of `core.issue` with names (`describe`), issue, state, note, status, assignee and comment.

    previous: what this function gave in the last run.  typed: issue, status, assignee, comment as people left them in
    the workbook.  Issues that are gone stay, as resolved; what the run did not look at (`scope`) stays as it was.  An
    issue is accepted where the status says so and the comment gives the reason; that holds until the shortfall grows,
    and then the status says "was accepted", so that a person decides anew.
    """
    now = describe(issues, elements)
    ids = identities(now)
    before = _by_id(previous)
    people = {i: {k: r.get(k, "") for k in TYPED} for i, r in before.items()} | _by_id(typed)
    figures = zip(ids, now["shortfall"].tolist(), slack(now).tolist(), strict=True)
    verdicts = [_verdict(s, more, before.get(i), people.get(i, {})) for i, s, more in figures]
    named = now.with_columns(issue=np.array(ids, dtype=object), **_columns(verdicts))
    whole = _with_past(named, elements, before, people, seen(elements, scope or Scope(), before.values()))
    rank, by_hand = ranks(whole, typed, before)
    return whole.with_columns(rank=rank, by_hand=np.full(whole.n, int(by_hand)), topic=topics(whole, before))


def default_key(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """Order of a list that nobody has sorted: standing first, then by severity, rule, group and place."""
    place = tuple(str(row[k]) for k in ("rule", "group", "facade", "storey", "mark", "guid", "issue"))
    return (_LAST.get(row["state"], 0), _GRAVE.index(row["severity"]), *place)


def ranks(issues: Table, typed: Table | None, before: Mapping[str, Mapping[str, Any]]) -> tuple[np.ndarray, bool]:
    """(n,) place of each issue in the list, and whether people sorted it: as they did, with new ones on top; else the default order."""
    rows = list(_by_id(issues).values())
    order = sorted(range(len(rows)), key=lambda k: default_key(rows[k]))
    theirs = [i for i in (typed["issue"].tolist() if typed is not None else []) if i in before]
    keys = [default_key(before[i]) for i in theirs]
    by_hand = keys != sorted(keys) or any(before[i].get("by_hand", 0) == 1 for i in theirs)
    if by_hand:
        place = {i: k for k, i in enumerate(theirs)}
        order.sort(key=lambda k: place.get(rows[k]["issue"], -1))
    out = np.empty(len(rows), dtype=np.int64)
    out[order] = np.arange(len(rows))
    return out, by_hand


@dataclass(frozen=True)
class Verdict:
    state: str
    note: str = ""
    status: str = ""
    assignee: str = ""
    comment: str = ""
    accepted_at: float = float("nan")


def slack(issues: Table) -> np.ndarray:
    """(n,) by how much each shortfall may grow before it counts as worse, in the issue's unit."""
    required = np.nan_to_num(np.abs(issues["required"]), nan=0.0, posinf=0.0)
    return np.where(issues["unit"] == "mm", WORSE_MM, WORSE_SHARE * required)


def _verdict(shortfall: float, more: float, before: Mapping[str, Any] | None, people: Mapping[str, Any]) -> Verdict:
    status, assignee, comment = (str(people.get(k, "")) for k in TYPED)
    state = NEW if before is None else OPEN
    note = "reopened: it was resolved" if before is not None and before["state"] == RESOLVED else ""
    if status.strip().lower() != ACCEPTED:
        return Verdict(state, note, status, assignee, comment)
    if not comment.strip():
        return Verdict(state, "accepted without a reason: write it in the comment", status, assignee, comment)
    then = shortfall if before is None else _accepted_at(before)
    if shortfall > then + more:
        return Verdict(OPEN, f"reopened: accepted at a shortfall of {then:.4g}, now {shortfall:.4g}", WAS_ACCEPTED, assignee, comment)
    return Verdict(ACCEPTED, "", status, assignee, comment, then)


def _accepted_at(before: Mapping[str, Any]) -> float:
    """The shortfall that was accepted: what stood in the list when the person said so."""
    held = float(before.get("accepted_at", np.nan)) if before["state"] == ACCEPTED else np.nan
    return float(before["shortfall"]) if np.isnan(held) else held


def _columns(verdicts: list[Verdict]) -> dict[str, Any]:
    texts = {k: np.array([getattr(v, k) for v in verdicts], dtype=object) for k in ("state", "note", *TYPED)}
    return texts | {"accepted_at": np.array([v.accepted_at for v in verdicts], dtype=float)}


def _by_id(table: Table | None) -> dict[str, dict[str, Any]]:
    if table is None or not table.n:
        return {}
    names = list(table)
    rows = zip(*(table[k].tolist() for k in names), strict=True)
    return {str(r["issue"]): r for r in (dict(zip(names, row, strict=True)) for row in rows)}


def _with_past(now: Table, elements: Table, before: Mapping[str, Mapping[str, Any]], people: Mapping[str, Mapping[str, Any]], run: Seen) -> Table:
    """Add the issues that this run no longer has."""
    here = set(now["issue"].tolist())
    row = {g: k for k, g in enumerate(elements["guid"].tolist())}
    past = [_past(r, people.get(i, {}), run, row) for i, r in before.items() if i not in here]
    columns = {k: np.concatenate([now[k], _cells(k, now[k], past)]) for k in now}
    return Table("issues", now.n + len(past), columns)


def _past(row: Mapping[str, Any], people: Mapping[str, Any], run: Seen, rows: Mapping[Any, int]) -> dict[str, Any]:
    why = run.why_not(row)
    state = {"state": _left(row, people), "note": why} if why else {"state": RESOLVED, "note": ""}
    return {**row, **people, **state, "issue": row["issue"], "panel": rows.get(row["guid"], -1), "other_panel": rows.get(row["other_guid"], -1)}


def _left(row: Mapping[str, Any], people: Mapping[str, Any]) -> str:
    """State of an issue that was not looked at: as it was, but that a person may accept it or take that back."""
    if row["state"] == RESOLVED:
        return RESOLVED
    status, comment = (str(people.get(k, row.get(k, ""))).strip() for k in ("status", "comment"))
    return ACCEPTED if status.lower() == ACCEPTED and comment else OPEN if row["state"] == ACCEPTED else row["state"]


def _cells(name: str, like: np.ndarray, past: list[dict[str, Any]]) -> np.ndarray:
    missing: Any = float("nan") if like.dtype == float else "" if like.dtype == object else -1
    return np.array([r.get(name, missing) for r in past], dtype=like.dtype)


def standing(issues: Table, severity: str) -> int:
    """Number of issues, new or open, of the severity or a graver one: what raises the exit status."""
    counted = _GRAVE[: _GRAVE.index(severity) + 1]
    return int((np.isin(issues["state"], (NEW, OPEN)) & np.isin(issues["severity"], counted)).sum())
