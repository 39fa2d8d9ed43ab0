"""What stands in the sheets of the issue workbook, as plain rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from bimcheck.core.tables import Table, Tables, gather

SEVERITY = {"error": 0, "warning": 1, "info": 2}
STANDING = ("new", "open")
CLASH = ("anchor-clash", "fastener-in-zone", "unsupported", "behind-panel", "cavity-small")
JOINTS = ("joint-width", "joint-wide", "panel-overlap", "panel-step")
EDGES = ("cutout-near-edge", "edge-distance", "anchor-spacing")
Row = Mapping[str, Any]


def records(table: Table, names: Iterable[str] | None = None) -> list[dict[str, Any]]:
    """Plain columns of a table as a dictionary a row."""
    kept = [k for k in (names or table) if k in table and isinstance(table[k], np.ndarray) and table[k].ndim == 1]
    return [dict(zip(kept, row, strict=True)) for row in zip(*(table[k].tolist() for k in kept), strict=True)]


def in_order(issues: Table) -> list[dict[str, Any]]:
    """Issues in the order of their rank."""
    return sorted(records(issues), key=lambda r: r["rank"])


def groups(rows: Sequence[Row]) -> list[dict[str, Any]]:
    """One row a group: how many stand, are accepted or resolved, the worst shortfall, and the first issue's row."""
    made: dict[str, dict[str, Any]] = {}
    for at, r in enumerate(rows, start=1):
        g = made.setdefault(r["group"], {"group": r["group"], "rule": r["rule"], "severity": r["severity"], "standing": 0, "accepted": 0,
                                         "resolved": 0, "worst": float("nan"), "unit": r["unit"], "facades": set(), "at": at,
                                         "way_out": r["way_out"], "text": r["text"]})
        g["standing" if r["state"] in STANDING else r["state"]] += 1
        g["facades"].add(str(r["facade"]))
        if r["state"] in STANDING:
            g["worst"] = np.fmax(g["worst"], r["shortfall"])
    listed = [{**g, "facades": ", ".join(sorted(f for f in g["facades"] if f))} for g in made.values()]
    return sorted(listed, key=lambda g: (not g["standing"], SEVERITY.get(g["severity"], 3), -g["standing"], g["group"]))


def families(rows: Sequence[Row], checks: Iterable[str]) -> dict[str, list[Row]]:
    """Rows by family; what belongs to none is an input fault."""
    of = {**dict.fromkeys(checks, "Checks"), **dict.fromkeys(CLASH, "Clash"), **dict.fromkeys(JOINTS, "Joints"),
          **dict.fromkeys(EDGES, "Edge distance")}
    made: dict[str, list[Row]] = {k: [] for k in ("Clash", "Edge distance", "Joints", "Checks", "Input faults")}
    for r in rows:
        made[of.get(r["rule"], "Input faults")].append(r)
    return made


def counts(rows: Sequence[Row], name: str) -> list[tuple[str, int, int, int, int, int]]:
    """By value of a column: standing errors, warnings and infos, accepted, resolved."""
    made: dict[str, Counter[str]] = {}
    for r in rows:
        kind = r["severity"] if r["state"] in STANDING else r["state"]
        made.setdefault(str(r[name]) or "(none)", Counter())[kind] += 1
    kinds = ("error", "warning", "info", "accepted", "resolved")
    listed = [(k, *(c[x] for x in kinds)) for k, c in made.items()]
    return sorted(listed, key=lambda r: (-r[1], -r[2], -r[3], r[0]))  # type: ignore[return-value]


def heat(rows: Sequence[Row], elements: Table) -> tuple[list[str], list[str], dict[tuple[str, str], int]]:
    """Storeys from above, facades, and standing errors and warnings by (storey, facade)."""
    cells = Counter((str(r["storey"]), str(r["facade"])) for r in rows
                    if r["state"] in STANDING and r["severity"] != "info" and (r["storey"] or r["facade"]))
    height: dict[str, float] = {}
    z = elements["z"].tolist() if "z" in elements else [0.0] * elements.n
    for storey, at in zip(elements["storey"].tolist() if "storey" in elements else [], z, strict=False):
        if np.isfinite(at):
            height[str(storey)] = min(height.get(str(storey), np.inf), at)
    storeys = sorted({s for s, _ in cells} | set(height), key=lambda s: (-height.get(s, -np.inf), s))
    facades = sorted({f for _, f in cells} | ({str(f) for f in elements["facade"].tolist() if f} if "facade" in elements else set()))
    return storeys, facades, dict(cells)


def quantities(tables: Tables) -> list[tuple[str, str, str, int, int]]:
    """item, storey, facade, panels, anchors; items that no catalogue names are blank."""
    anchors = tables.get("anchors")
    if anchors is None or not anchors.n:
        return []
    panel = np.asarray(gather(tables, "anchors", "panel"), dtype=np.int64)
    panels = tables["panels"]
    texts = [np.asarray(panels[k])[panel].tolist() if k in panels else [""] * anchors.n for k in ("item", "storey", "facade")]
    count: Counter[tuple[str, ...]] = Counter()
    held: dict[tuple[str, ...], set[int]] = {}
    for key, p in zip(zip(*texts, strict=True), panel.tolist(), strict=True):
        count[key] += 1
        held.setdefault(key, set()).add(p)
    return [(*key, len(held[key]), count[key]) for key in sorted(count, key=lambda k: tuple(map(str, k)))]  # type: ignore[misc]


def not_checked(tables: Tables) -> list[dict[str, Any]]:
    """Panels whose result is not_checked, with the reason."""
    panels = tables["panels"]
    names = ("model", "guid", "mark", "name", "storey", "facade", "reason", "result")
    return [r for r in records(panels, names) if r.get("result") == "not_checked"]


def why_not(rows: Sequence[Row]) -> list[tuple[str, int]]:
    """Reasons by number of panels."""
    found = Counter(part for r in rows for part in str(r.get("reason", "")).split("; ") if part)
    return sorted(found.items(), key=lambda p: (-p[1], p[0]))


def assumptions(facts: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """What nobody stated, then every setting that a rule of the run read: key, value, who read it."""
    assumed = [str(k) for k in facts.get("assumed", [])]
    used: dict[str, tuple[str, list[str]]] = {}
    for rule in facts.get("rules", []):
        for key, value in rule["settings"].items():
            used.setdefault(key, (_plain(value), []))[1].append(rule["name"])
    first = [(k, used.get(k, ("", []))[0], "ASSUMED: nobody stated it; every result that rests on it is not_checked") for k in sorted(assumed)]
    return first + [(k, v, "read by " + ", ".join(sorted(set(by)))) for k, (v, by) in sorted(used.items()) if k not in assumed]


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
