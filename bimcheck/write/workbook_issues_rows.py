"""What stands in the sheets of the issue workbook, as tables."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, Tables, gather, segment
from bimcheck.write.figures import said, scales, unit_shown

SEVERITY = {"error": 0, "warning": 1, "info": 2}
STANDING = ("new", "open")
CLASH = ("panel-clash", "anchor-clash", "fastener-in-zone", "unsupported", "no-backing", "behind-panel", "cavity-small")
JOINTS = ("joint-width", "joint-wide", "panel-overlap", "panel-step")
EDGES = ("cutout-near-edge", "edge-distance", "anchor-spacing")
INPUT = ("duplicate-guid", "material-missing", "zero-thickness", "no-geometry", "degenerate-geometry", "curved-panel", "tapered-panel", "folded-panel",
         "profiled-panel", "duplicate-property-set", "same-file", "true-north", "sloped-panel", "soffit-panel", "building-uncertain", "side-uncertain",
         "file-apart", "thickness-measured")
# Notes of the comparison with the last run where a run could not judge.
NOT_LOOKED_AT = ("its model takes no part in this run", "not looked at in this run: outside its selection",
                 "not found in this run, which looked at a part: a run on the whole building decides")
FAMILIES = ("Clash", "Edge distance", "Joints", "Checks", "Input faults")
KINDS = ("error", "warning", "info", "accepted", "resolved")
SENTENCES = ("text", "way_out", "note", "group")
FIGURES = ("measured", "required", "shortfall")


def in_order(issues: Table, units: str = "si") -> Table:
    """Issues in the order of their rank, with the number of their group, figures and sentences in the units shown."""
    rows = issues.take(np.argsort(issues["rank"], kind="stable"))
    by = scales(rows["unit"], units)
    shown: dict[str, Any] = {k: rows[k] * by for k in FIGURES} | {k: said(rows[k], units) for k in SENTENCES}
    shown["unit"] = np.array([unit_shown(u, units) for u in rows["unit"].tolist()], dtype=object)
    return numbered(rows.with_columns(**shown, grid=grid_texts(rows, units)))


def grid_texts(rows: Table, units: str) -> NDArray[Any]:
    """Place against the axes of the model; blank where it has none."""
    return said(rows["grid"], units) if "grid" in rows else np.full(rows.n, "", dtype=object)


def numbered(rows: Table) -> Table:
    """With `no`, the number of each issue's group: what stands first, by severity and size, then by name."""
    names, of = np.unique(rows["group"].astype(str), return_inverse=True)
    stands = standing(rows)
    least = segment(np.minimum, severities(rows), of, len(names), 3.0)
    count = np.bincount(of, weights=stands, minlength=len(names))
    order = np.lexsort((np.arange(len(names)), -count, least, count == 0))
    number = np.empty(len(names), dtype=np.int64)
    number[order] = np.arange(1, len(names) + 1)
    return rows.with_columns(no=number[of])


def standing(rows: Table) -> NDArray[np.bool_]:
    return np.isin(rows["state"].astype(str), STANDING)


def severities(rows: Table) -> NDArray[np.float64]:
    return np.array([SEVERITY.get(s, 3) for s in rows["severity"].tolist()], dtype=float)


def groups(rows: Table) -> Table:
    """One row a group, by number: how many stand, are accepted or resolved, the worst shortfall, and what the first says.

    `first`: row of its first member in the list of members (`members`).
    """
    listed = members(rows)
    first = np.unique(listed["no"], return_index=True)[1]
    n, of = len(first), listed["no"] - 1
    stands = standing(listed)
    counts = {k: np.bincount(of[mask], minlength=n) for k, mask in (
        ("standing", stands), ("accepted", listed["state"] == "accepted"), ("resolved", listed["state"] == "resolved"))}
    worst = segment(np.fmax, np.where(stands, listed["shortfall"], np.nan), of, n, np.nan)
    names = ("no", "group", "rule", "severity", "unit", "text", "way_out")
    return Table("groups", n, {k: listed[k][first] for k in names} | counts | {
        "worst": worst, "first": first, "facades": _gathered(of, listed["facade"], n), "storeys": _gathered(of, listed["storey"], n)})


def _gathered(of: NDArray[np.int64], texts: NDArray[Any], n: int) -> NDArray[Any]:
    """(n,) the different texts of each group, in order."""
    found: list[set[str]] = [set() for _ in range(n)]
    for k, text in set(zip(of.tolist(), texts.tolist(), strict=True)):
        found[k].add(str(text))
    return np.array([", ".join(sorted(t for t in f if t)) for f in found], dtype=object)


def members(rows: Table) -> Table:
    """Issues by group: what stands first, then by place."""
    keys = [np.unique(rows[k].astype(str), return_inverse=True)[1] for k in ("mark", "storey", "facade")]
    return rows.take(np.lexsort((*keys, ~standing(rows), rows["no"])))


def families(rows: Table) -> dict[str, Table]:
    """Rows by family; what belongs to no other is a check, or a limit of the method behind one."""
    of = {**dict.fromkeys(CLASH, "Clash"), **dict.fromkeys(JOINTS, "Joints"), **dict.fromkeys(EDGES, "Edge distance"),
          **dict.fromkeys(INPUT, "Input faults")}
    family = np.array([of.get(r, "Checks") for r in rows["rule"].tolist()], dtype=object)
    return {k: rows.take(family == k) for k in FAMILIES}


def standings(rows: Table) -> list[tuple[str, int]]:
    """What became of the issues since the last run, by number."""
    state, notes = rows["state"].astype(str), rows["note"].astype(str)
    left = np.isin(notes, NOT_LOOKED_AT)
    back = np.char.startswith(notes, "reopened") if rows.n else np.zeros(0, dtype=bool)
    masks = {"new": (state == "new") & ~left, "open": (state == "open") & ~left & ~back, "reopened": back, "accepted": (state == "accepted") & ~left,
             "resolved": (state == "resolved") & ~left, "not looked at, as they were": left}
    return [(name, int(mask.sum())) for name, mask in masks.items()]


def counts(rows: Table, name: str) -> list[tuple[Any, ...]]:
    """By value of a column: standing errors, warnings and infos, accepted, resolved."""
    kinds = np.where(standing(rows), rows["severity"], rows["state"]).tolist()
    made = Counter(zip((str(v) or "(none)" for v in rows[name].tolist()), kinds, strict=True))
    listed = [(k, *(made[k, x] for x in KINDS)) for k in dict.fromkeys(k for k, _ in made)]
    return sorted(listed, key=lambda r: (-r[1], -r[2], -r[3], r[0]))


def heat(rows: Table, elements: Table) -> tuple[list[str], list[str], dict[tuple[str, str], int]]:
    """Storeys from above, facades, and standing errors and warnings by (storey, facade)."""
    grave = rows.take(standing(rows) & (rows["severity"] != "info"))
    cells = Counter((str(s), str(f)) for s, f in zip(grave["storey"].tolist(), grave["facade"].tolist(), strict=True) if s or f)
    height: dict[str, float] = {}
    z = elements["z"].tolist() if "z" in elements else [0.0] * elements.n
    for storey, at in zip(elements["storey"].tolist() if "storey" in elements else [], z, strict=False):
        if np.isfinite(at):
            height[str(storey)] = min(height.get(str(storey), np.inf), at)
    storeys = sorted({s for s, _ in cells} | set(height), key=lambda s: (-height.get(s, -np.inf), s))
    facades = sorted({f for _, f in cells} | ({str(f) for f in elements["facade"].tolist() if f} if "facade" in elements else set()))
    return storeys, facades, dict(cells)


def listed_panels(panels: Table, rows: Table, units: str) -> Table:
    """Panels with the number of issues that stand against them, on either side of the matter."""
    live = rows.take(standing(rows))
    either = [live["panel"], live["other_panel"][live["other_panel"] != live["panel"]]]
    named = np.concatenate([e[e >= 0] for e in either]).astype(np.int64)
    element = panels["element"] if "element" in panels else np.arange(panels.n)
    count = np.bincount(named, minlength=int(element.max(initial=-1)) + 1)
    turned = {k: said(panels[k], units) for k in ("way_out", "reason") if k in panels}
    return panels.with_columns(standing=count[element], **turned)


def quantities(tables: Tables) -> Table:
    """item, storey, facade, panels, anchors; items that no catalogue names are blank."""
    anchors, panels = tables.get("anchors"), tables["panels"]
    names = ("item", "storey", "facade")
    if anchors is None or not anchors.n:
        return Table("quantities", 0, {k: np.empty(0, dtype=object) for k in (*names, "panels", "anchors")})
    panel = np.asarray(gather(tables, "anchors", "panel"), dtype=np.int64)
    a_panel = np.bincount(panel, minlength=panels.n)
    texts = [panels[k].tolist() if k in panels else [""] * panels.n for k in names]
    sums: dict[tuple[str, ...], list[int]] = {}
    for key, count in zip(zip(*texts, strict=True), a_panel.tolist(), strict=True):
        if count:
            held = sums.setdefault(tuple(map(str, key)), [0, 0])
            held[0] += 1
            held[1] += count
    keys = sorted(sums)
    return Table("quantities", len(keys), {n: np.array([k[i] for k in keys], dtype=object) for i, n in enumerate(names)} | {
        n: np.array([sums[k][i] for k in keys], dtype=np.int64) for i, n in enumerate(("panels", "anchors"))})


def not_checked(panels: Table) -> Table:
    """Panels whose result is not_checked, with the reason."""
    return panels.take(panels["result"] == "not_checked" if "result" in panels else np.zeros(panels.n, dtype=bool))


def why_not(panels: Table) -> list[tuple[str, int]]:
    """Reasons by number of panels."""
    texts = not_checked(panels)["reason"].tolist() if "reason" in panels else []
    found = Counter(part for text in texts for part in str(text).split("; ") if part)
    return sorted(found.items(), key=lambda p: (-p[1], p[0]))


def assumptions(facts: Mapping[str, Any]) -> Table:
    """What nobody stated, then every setting that a rule of the run read: setting, value, why."""
    assumed = [str(k) for k in facts.get("assumed", [])]
    used: dict[str, tuple[str, list[str]]] = {}
    for rule in facts.get("rules", []):
        for key, value in rule["settings"].items():
            used.setdefault(key, (_plain(value), []))[1].append(rule["name"])
    rows = [(k, used.get(k, ("", []))[0], "ASSUMED: nobody stated it; every result that rests on it is not_checked") for k in sorted(assumed)]
    rows += [(k, v, "read by " + ", ".join(sorted(set(by)))) for k, (v, by) in sorted(used.items()) if k not in assumed]
    return _texts("assumptions", ("setting", "value", "why"), rows)


def _texts(name: str, names: Sequence[str], rows: Sequence[tuple[str, ...]]) -> Table:
    return Table(name, len(rows), {k: np.array([r[i] for r in rows], dtype=object) for i, k in enumerate(names)})


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
