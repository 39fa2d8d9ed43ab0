"""The list of edge distances: for every panel the anchor that governs, worst first; in the workbook and as edges.csv."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table, Tables, concat, gather
from bimcheck.write.tables import texts, write_csv

COLUMNS = ("model", "panel_step_id", "panel_guid", "mark", "facade", "anchor", "edge_mm", "required_mm", "item_mm", "tested_mm", "shortfall_mm", "to",
           "storey")
_OF_ELEMENT = {"model": "model", "panel_step_id": "step_id", "panel_guid": "guid", "mark": "mark", "facade": "facade", "storey": "storey"}


def edge_list(tables: Tables) -> Table:
    """The governing anchor of every panel: least edge distance less what item and tested series require.

    tables: elements, panels (with `element`), anchors (edge; edge_min_item and edge_tested from the panel).  Columns as
    COLUMNS, mm; `to` says what the edge belongs to, outline or cut-out.  Where neither states a requirement, required and
    shortfall are nan and the row stands behind the others; panels without anchors stand last.
    """
    anchors = tables.get("anchors")
    if anchors is None or not anchors.n or "edge" not in anchors:
        return _without(tables, np.arange(tables["panels"].n))
    listed = _governing(tables, anchors)
    bare = np.ones(tables["panels"].n, dtype=bool)
    bare[np.asarray(gather(tables, "anchors", "panel"), dtype=np.int64)] = False
    return concat("edges", [listed, _without(tables, np.flatnonzero(bare))])


def _without(tables: Tables, panel: NDArray[np.int64]) -> Table:
    """Panels that have no anchors."""
    words: dict[str, Any] = _names(tables, panel) | {"anchor": np.full(len(panel), "", dtype=object), "to": np.full(len(panel), "no anchors", dtype=object)}
    return Table("edges", len(panel), {k: words[k] if k in words else np.full(len(panel), np.nan) for k in COLUMNS})


def _governing(tables: Tables, anchors: Table) -> Table:
    none = np.full(anchors.n, np.nan)
    item, tested = (none if c is None else np.asarray(c, dtype=float) for c in (gather(tables, "anchors", k) for k in ("edge_min_item", "edge_tested")))
    required, edge = np.fmax(item, tested), anchors["edge"]
    panel = np.asarray(gather(tables, "anchors", "panel"), dtype=np.int64)
    spare = np.where(np.isnan(required), np.inf, edge - required)
    order = np.lexsort((anchors["slot"], edge, spare, panel))
    rows = order[np.unique(panel[order], return_index=True)[1]]
    rows = rows[np.lexsort((panel[rows], edge[rows], spare[rows]))]
    figures = {"edge_mm": edge, "required_mm": required, "item_mm": item, "tested_mm": tested, "shortfall_mm": np.maximum(0.0, required - edge)}
    found: dict[str, Any] = {k: np.round(c[rows], 2) + 0.0 for k, c in figures.items()}
    found |= _names(tables, panel[rows]) | {"to": _sides(tables, rows, panel[rows])}
    found["anchor"] = np.array([f"A{s}" for s in anchors["slot"][rows].tolist()], dtype=object)
    return Table("edges", len(rows), {k: found[k] for k in COLUMNS})


def _names(tables: Tables, panel: NDArray[np.int64]) -> dict[str, NDArray[Any]]:
    panels, elements = tables["panels"], tables["elements"]
    element = panels["element"][panel] if "element" in panels else panel
    blank = np.full(len(panel), "", dtype=object)
    return {k: np.array([str(v) for v in elements[c][element].tolist()], dtype=object) if c in elements else blank for k, c in _OF_ELEMENT.items()}


def _sides(tables: Tables, rows: NDArray[np.int64], panel: NDArray[np.int64]) -> NDArray[Any]:
    """(k,) outline or cut-out: which of them is the nearer edge of each anchor; blank where the outline is not known."""
    panels, anchors = tables["panels"], tables["anchors"]
    outline = panels.get("outline")
    if not isinstance(outline, Ragged) or "x" not in anchors:
        return np.full(len(rows), "", dtype=object)
    holed = np.zeros(panels.n, dtype=bool)
    holed[outline.rows[outline.values[:, 2] > 0]] = True
    said = np.full(len(rows), "outline", dtype=object)
    for k in np.flatnonzero(holed[panel]):  # few panels have any
        at = np.array([anchors["x"][rows[k]], anchors["y"][rows[k]]])
        ring = outline[panel[k]]
        away = [_distance(at, ring[ring[:, 2] == r, :2]) for r in np.unique(ring[:, 2])]
        said[k] = "outline" if away[0] <= min(away[1:]) else "cut-out"
    return said


def _distance(at: NDArray[np.float64], ring: NDArray[np.float64]) -> float:
    """From a point to the sides of a closed ring."""
    along = np.roll(ring, -1, axis=0) - ring
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    share = np.clip(((at - ring) * along).sum(axis=1) / square, 0.0, 1.0)
    return float(np.hypot(*(ring + share[:, None] * along - at).T).min())


def write_edges_csv(path: Path, tables: Tables) -> Path:
    """edges.csv: the list of edge distances."""
    rows = edge_list(tables)
    return write_csv(path, COLUMNS, [texts(rows[k]) for k in COLUMNS])
