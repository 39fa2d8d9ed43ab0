"""What the fabricator reads, as tables: marks, holes, panels, articles, and what is not to be drilled."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, Tables, gather
from bimcheck.write.figures import said

# Columns of panels that are the same in all panels of a mark.
_OF_MARK = ("material", "surface", "width", "height", "thickness", "face", "item", "hole_diameter", "undercut_radius", "embedment", "hole_depth",
            "residual_required", "counterbore_set", "counterbore_most", "fastener", "thread", "bolt_length", "washer", "clip_wall", "drilling")
_OF_PANEL = ("drill_mark", "mark", "name", "guid", "model", "storey", "facade", "material", "lot", "thickness", "measured_least", "measured_greatest",
             "counterbore_set", "item", "result")


def first_of_marks(panels: Table) -> tuple[NDArray[Any], NDArray[np.int64], NDArray[np.int64]]:
    """Marks by name, a panel row that stands for each, and the mark's position (-1: none) of every panel."""
    names, first, at = np.unique(panels["drill_mark"].astype(str), return_index=True, return_inverse=True)
    blank = int(len(names) > 0 and names[0] == "")
    return names[blank:].astype(object), first[blank:], at.ravel() - blank


def marks(tables: Tables, units: str = "si") -> Table:
    """A row a drilling mark; only panels that pass have one.  units: of figures in sentences."""
    panels = _said(tables["panels"], units)
    names, first, at = first_of_marks(panels)
    pieces = _joined(panels["mark"], panels["guid"], at, len(names))
    return Table("marks", len(names), {
        "drill_mark": names, "panels": np.bincount(at[at >= 0], minlength=len(names)), "pieces": pieces,
        "shape": np.array([_shape(panels["outline"][i]) for i in first.tolist()], dtype=object),
        "holes": panels["n_anchors_selected"][first], "mass": panels["mass"][first], **{k: panels[k][first] for k in _OF_MARK}})


def _joined(marks: NDArray[Any], guids: NDArray[Any], at: NDArray[np.int64], n: int) -> NDArray[Any]:
    """(n,) piece marks of each drilling mark, GlobalIds where there are none."""
    said: list[list[str]] = [[] for _ in range(n)]
    for mark, guid, k in zip(marks.tolist(), guids.tolist(), at.tolist(), strict=True):
        if k >= 0:
            said[k].append(str(mark or guid))
    return np.array([", ".join(sorted(s)) for s in said], dtype=object)


def _shape(outline: NDArray[Any]) -> str:
    corners, cuts = int((outline[:, 2] == 0).sum()), len(np.unique(outline[:, 2])) - 1
    plain = "rectangle" if corners == 4 and _square(outline[outline[:, 2] == 0, :2]) else f"{corners} corners"
    return plain + (f", {cuts} cut-out{'s' if cuts > 1 else ''}" if cuts else "")


def _square(ring: NDArray[Any]) -> bool:
    """Whether four corners are those of their bounding rectangle, within 0.1 mm."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    return bool((np.minimum(np.abs(ring - low), np.abs(ring - high)) <= 0.1).all())


def _said(panels: Table, units: str) -> Table:
    return panels.with_columns(drilling=said(panels["drilling"], units), way_out=said(panels["way_out"], units), reason=said(panels["reason"], units))


def holes(tables: Tables, units: str = "si") -> Table:
    """A row a hole of each mark, from the panel that stands for it."""
    panels, anchors = _said(tables["panels"], units), tables["anchors"]
    names, first, _ = first_of_marks(panels)
    panel = np.asarray(gather(tables, "anchors", "panel")) if anchors.n else np.empty(0, dtype=np.int64)
    of = np.full(panels.n, -1, dtype=np.int64)
    of[first] = np.arange(len(names))
    rows = np.flatnonzero(of[panel] >= 0)
    rows = rows[np.lexsort((anchors["slot"][rows], of[panel[rows]]))]
    mine = panel[rows]
    return Table("holes", len(rows), {
        "drill_mark": names[of[mine]], "hole": np.array([f"A{s}" for s in anchors["slot"][rows].tolist()], dtype=object),
        **{k: anchors[k][rows] for k in ("x_rear", "y", "edge", "role")}, "carries": np.where(anchors["hangs"][rows], "weight", "").astype(object),
        **{k: panels[k][mine] for k in ("hole_diameter", "undercut_radius", "embedment", "hole_depth", "counterbore_set", "drilling")}})


def pieces(tables: Tables) -> Table:
    """A row a panel that has a mark, by mark; readings only where the panel was measured."""
    panels = tables["panels"]
    known = np.asarray(panels["measured"], dtype=bool)
    with_readings = panels.with_columns(measured_least=np.where(known, panels["t_min"], np.nan), measured_greatest=np.where(known, panels["t_max"], np.nan))
    rows = np.flatnonzero(panels["drill_mark"] != "")
    rows = rows[np.lexsort((panels["guid"][rows].astype(str), panels["mark"][rows].astype(str), panels["drill_mark"][rows].astype(str)))]
    return Table("pieces", len(rows), {k: with_readings[k][rows] for k in _OF_PANEL})


def not_released(tables: Tables, units: str = "si") -> Table:
    """A row a panel without a mark, and why."""
    panels = _said(tables["panels"], units)
    rows = np.flatnonzero(panels["drill_mark"] == "")
    why = np.where(panels["reason"] != "", panels["reason"], panels["governing_check"])
    return Table("not_released", len(rows), {"why": why[rows], **{k: panels[k][rows] for k in ("mark", "name", "guid", "storey", "facade", "result", "utilisation", "way_out")}})


def articles(tables: Tables) -> Table:
    """What is to be ordered: anchors, bolts or set screws by length, washers, clips by role; released (pass) and laid out in all."""
    anchors = tables["anchors"]
    if not anchors.n:
        return Table("articles", 0, {})
    c = {k: np.asarray(gather(tables, "anchors", k)) for k in ("item", "fastener", "thread", "bolt_length", "washer", "result", "role", "clip_wall")}
    passing = c["result"] == "pass"
    kinds = [("anchor", [c["item"]]), ("fastener", [c["item"], c["fastener"], c["thread"], np.char.add(_text(c["bolt_length"]), " mm long")]),
             ("washer", [c["item"], np.char.add(_text(c["washer"]), " mm")]), ("clip", [c["item"], np.char.add(_text(c["clip_wall"]), " mm wall"), c["role"]])]
    rows = [(kind, *row) for kind, parts in kinds for row in _counted(parts, passing)]
    return Table("articles", len(rows), {k: np.array([r[i] for r in rows], dtype=t) for i, (k, t) in enumerate(
        (("kind", object), ("article", object), ("released", np.int64), ("laid_out", np.int64)))})


def _text(values: NDArray[Any]) -> NDArray[Any]:
    known = {v: f"{v:g}" for v in set(values.tolist())}
    return np.array([known[v] for v in values.tolist()], dtype=str)


def _counted(parts: Sequence[NDArray[Any]], passing: NDArray[np.bool_]) -> list[tuple[str, int, int]]:
    names, at = np.unique([", ".join(p) for p in zip(*(x.astype(str).tolist() for x in parts), strict=True)], return_inverse=True)
    return [(str(n), int(a), int(b)) for n, a, b in zip(names, np.bincount(at.ravel(), passing, len(names)), np.bincount(at.ravel(), minlength=len(names)), strict=True)]
