"""The tables of what was chosen, evaluated once more as a whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.core.tables import Table, Tables, concat
from bimcheck.layout.batch import Batch, Index, tables
from bimcheck.layout.choice import Choice
from bimcheck.layout.geometry import MEASURED, edge_in_polygon, edge_in_rectangle
from bimcheck.layout.judge import Judge
from bimcheck.layout.sites import rectangles
from bimcheck.layout.way_out import WayOut

_TABLES = ("layouts", "candidates", "anchors")


def selected_tables(judge: Judge, batches: Mapping[int, Batch], choice: Choice, reason: NDArray, kept: NDArray[np.bool_], out: WayOut) -> Tables:
    """panels with layout columns, and layouts, candidates (one a panel, by panel row) and anchors of what was chosen."""
    counts = [n for n in sorted(batches) if np.any(choice.n == n)]
    found = _put_together([_part(judge, batches[n], choice, n) for n in counts]) if counts else _empty(judge)
    candidates = found["candidates"]
    at = np.full(judge.panels.n, -1, dtype=np.int64)
    at[candidates["panel"]] = np.arange(candidates.n)
    pattern = np.full(judge.panels.n, "", dtype=object)
    pattern[candidates["panel"]] = candidates["pattern"]
    panels = judge.panels.with_columns(
        candidate=at, pattern_selected=pattern, n_anchors_selected=choice.n, u_layout=np.where(choice.known, choice.u, np.nan),
        layout_reason=reason, kept=kept, **out.columns())
    return {"panels": panels, "facades": judge.facades, **found}


def _part(judge: Judge, batch: Batch, choice: Choice, n: int) -> Tables:
    panel = np.flatnonzero(choice.n == n)
    rows, layout = np.unique(choice.layout[panel], return_inverse=True)
    asked = tables(judge.panels, judge.facades, batch.take(rows), panel, layout.ravel())
    return judge.evaluate({**asked, "anchors": _exact_edges(judge.panels, asked["anchors"], panel)})


def _exact_edges(panels: Table, anchors: Table, panel: Index) -> Table:
    """Edge distances on the panels' own outlines, which the layouts know to a tenth of a millimetre only."""
    few = panels.take(panel)
    plain = rectangles(few)
    points = np.stack([anchors["x"], anchors["y"]], axis=-1).reshape(len(panel), -1, 2)
    edge = edge_in_rectangle(points, np.column_stack([few["width"], few["height"]]))
    for i in np.flatnonzero(~plain):
        edge[i] = edge_in_polygon(outline_of(few["outline"][i]), points[i])
    return anchors.with_columns(edge=np.round(edge.ravel(), MEASURED))


def outline_of(rows: NDArray) -> shapely.Polygon:
    """Polygon of an outline column's value (k, 3)."""
    rings = [rows[rows[:, 2] == k, :2] for k in np.unique(rows[:, 2])]
    return shapely.Polygon(rings[0], rings[1:])


def _put_together(parts: list[Tables]) -> Tables:
    """Tables of all anchor counts in one, candidates by rising panel.  Takes the parts to pieces."""
    layouts = np.cumsum([0, *(p["layouts"].n for p in parts)])
    candidates = np.cumsum([0, *(p["candidates"].n for p in parts)])
    order = np.argsort(np.concatenate([p["candidates"]["panel"] for p in parts]), kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    owner = np.concatenate([rank[p["anchors"]["candidate"] + k] for p, k in zip(parts, candidates[:-1], strict=True)])
    by_candidate = np.lexsort((np.concatenate([p["anchors"]["slot"] for p in parts]), owner))
    moved = np.concatenate([p["candidates"]["layout"] + k for p, k in zip(parts, layouts[:-1], strict=True)])
    every = {name: [(p[name].n, dict(p[name].columns)) for p in parts] for name in _TABLES}
    parts.clear()
    return {"layouts": _joined("layouts", every["layouts"], np.arange(layouts[-1])),
            "candidates": _joined("candidates", every["candidates"], order).with_columns(layout=moved[order]),
            "anchors": _joined("anchors", every["anchors"], by_candidate).with_columns(candidate=owner[by_candidate])}


def _joined(name: str, parts: Sequence[tuple[int, dict[str, Any]]], order: Index) -> Table:
    """Rows of all parts in an order, column by column: these are the largest tables of a run, held once and no more."""
    columns: dict[str, Any] = {}
    for key in list(parts[0][1]):
        columns |= concat(name, [Table(name, n, {key: own.pop(key)}) for n, own in parts]).take(order).columns
    return Table(name, len(order), columns)


def _empty(judge: Judge) -> Tables:
    """Tables without rows, with the columns everything downstream expects."""
    none, number = np.empty(0, dtype=np.int64), np.empty(0)
    text = np.empty(0, dtype=object)
    whole = dict.fromkeys(("x", "y", "share", "share_min", "share_lost", "share_moved", "tributary", "edge", "spacing", "y_lever"), number)
    moments = dict.fromkeys(("m_support", "m_field", "m_corner", "m_plate", "share_most", "w_unit", "w_span", "span", "overhang", "m_support_lost",
                             "m_support_moved", "m_field_moved"), number)
    bare = {
        "panels": judge.panels, "facades": judge.facades,
        "layouts": Table("layouts", 0, {"shape_row": none, **moments, "layout_flags": text}),
        "candidates": Table("candidates", 0, {"panel": none, "layout": none, "n_anchors": none, "pattern": text, "n_hang_layout": none,
                                              "x_fixed": number, "y_fixed": number, "x_sliding": number}),
        "anchors": Table("anchors", 0, {"candidate": none, "slot": none, **whole, "role": text,
                                        "hangs": np.empty(0, dtype=bool), "n_hang": none}),
    }
    return {k: v for k, v in judge.evaluate(bare).items() if k in _TABLES}
