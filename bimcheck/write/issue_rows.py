"""issues.csv, issues.jsonl and the list of edge distances: plain rows, written whole or not at all."""

from __future__ import annotations

import csv
import io
import json
import math
import os
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table, Tables, gather

ISSUE_COLUMNS = ("issue", "rule", "severity", "state", "group", "model", "step_id", "guid", "mark", "name", "other_model",
                 "other_guid", "other_class", "other_name", "storey", "facade", "measured", "required", "shortfall", "unit",
                 "x_m", "y_m", "z_m", "text", "way_out")
FIGURES = ("measured", "required", "shortfall")
PLACE = {"x_m": "x", "y_m": "y", "z_m": "z"}
EDGE_COLUMNS = ("model", "panel_step_id", "panel_guid", "mark", "facade", "anchor", "edge_mm", "required_mm", "item_mm",
                "tested_mm", "shortfall_mm")


def issue_rows(issues: Table, elements: Table | None = None) -> tuple[list[str], list[list[Any]]]:
    """Header and columns of issues.csv from the reconciled issues, in their order; blank for nan.

    elements is not needed: the reconciled issues carry their names already.
    """
    return list(ISSUE_COLUMNS), [_cells(issues, name) for name in ISSUE_COLUMNS]


def _cells(issues: Table, name: str) -> list[Any]:
    if name in PLACE:
        return [_number(v, 4) for v in (issues[PLACE[name]] / 1000).tolist()]
    if name in FIGURES:
        return [_number(v, 3) for v in issues[name].tolist()]
    return [str(v) for v in issues[name].tolist()]


def issue_records(issues: Table) -> Iterator[dict[str, Any]]:
    """The same, a dictionary a row; None for nan."""
    header, columns = issue_rows(issues)
    for row in zip(*columns, strict=True):
        yield {k: None if v == "" and (k in PLACE or k in FIGURES) else v for k, v in zip(header, row, strict=True)}


def _number(value: Any, decimals: int) -> float | str:
    return round(float(value), decimals) + 0.0 if math.isfinite(value) else ""  # no negative zero


def write_issues_csv(path: Path, issues: Table) -> Path:
    """issues.csv: UTF-8, one row an issue."""
    return write_text(path, csv_text(ISSUE_COLUMNS, issue_records(issues)))


def csv_text(names: Sequence[str], rows: Iterator[Mapping[str, Any]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, names, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def write_issues_jsonl(path: Path, issues: Table) -> Path:
    """issues.jsonl: one JSON object a line."""
    return write_text(path, "".join(json.dumps(r, ensure_ascii=False) + "\n" for r in issue_records(issues)))


def write_text(path: Path, text: str) -> Path:
    """Whole or not at all: written beside and moved into place."""
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="")
        os.replace(part, path)
    except OSError as problem:
        part.unlink(missing_ok=True)
        raise InputError(f"cannot be written: {problem.strerror}", str(path), "close the program that has it open") from problem
    return path


def edge_rows(tables: Tables) -> list[dict[str, Any]]:
    """The governing anchor of every panel: least edge distance less what item and tested series require, worst first.

    tables: elements, panels (with `element`), anchors (edge; edge_min_item and edge_tested from the panel).  Where
    neither states a requirement, required and shortfall are None and the row stands last.
    """
    anchors = tables.get("anchors")
    if anchors is None or not anchors.n or "edge" not in anchors:
        return []
    none = np.full(anchors.n, np.nan)
    item, tested = (_or(gather(tables, "anchors", k), none) for k in ("edge_min_item", "edge_tested"))
    required, edge = np.fmax(item, tested), anchors["edge"]
    panel = np.asarray(gather(tables, "anchors", "panel"), dtype=np.int64)
    spare = np.where(np.isnan(required), np.inf, edge - required)
    order = np.lexsort((anchors["slot"], edge, spare, panel))
    rows = order[np.unique(panel[order], return_index=True)[1]]
    rows = rows[np.lexsort((panel[rows], edge[rows], spare[rows]))]
    element = tables["panels"]["element"][panel[rows]] if "element" in tables["panels"] else panel[rows]
    return [_edge_row(tables["elements"], e, (int(anchors["slot"][r]), *(float(c[r]) for c in (edge, required, item, tested))))
            for r, e in zip(rows.tolist(), element.tolist(), strict=True)]


def _or(found: Any, none: np.ndarray) -> np.ndarray:
    return none if found is None else np.asarray(found, dtype=float)


def _edge_row(elements: Table, e: int, figures: tuple[Any, ...]) -> dict[str, Any]:
    slot, edge, required, item, tested = figures
    texts = {"model": "model", "panel_step_id": "step_id", "panel_guid": "guid", "mark": "mark", "facade": "facade"}
    row: dict[str, Any] = {k: str(elements[c][e]) if c in elements else "" for k, c in texts.items()}
    return row | {"anchor": f"A{slot}", "edge_mm": _number(edge, 2), "required_mm": _number(required, 2), "item_mm": _number(item, 2),
                  "tested_mm": _number(tested, 2), "shortfall_mm": _number(max(0.0, required - edge), 2) if np.isfinite(required) else None}


def write_edges_csv(path: Path, tables: Tables) -> Path:
    """edges.csv: the list of edge distances."""
    return write_text(path, csv_text(EDGE_COLUMNS, iter(edge_rows(tables))))
