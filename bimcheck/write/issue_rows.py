"""issues.csv and issues.jsonl: plain rows, written whole or not at all."""

from __future__ import annotations

import csv
import io
import json
import math
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table

ISSUE_COLUMNS = ("issue", "rule", "severity", "state", "group", "model", "step_id", "guid", "mark", "name", "other_model",
                 "other_guid", "other_class", "other_name", "storey", "facade", "measured", "required", "shortfall", "unit",
                 "x_m", "y_m", "z_m", "text", "way_out", "grid", "x_panel_mm", "y_panel_mm", "ifc_class", "other_mark", "note", "status",
                 "assignee", "comment")
FIGURES = ("measured", "required", "shortfall")
PLACE = {"x_m": ("x", 1e-3), "y_m": ("y", 1e-3), "z_m": ("z", 1e-3), "x_panel_mm": ("x_panel", 1.0), "y_panel_mm": ("y_panel", 1.0)}


def issue_rows(issues: Table, elements: Table | None = None) -> tuple[list[str], list[list[Any]]]:
    """Header and columns of issues.csv from the reconciled issues, in their order; blank for nan.

    elements is not needed: the reconciled issues carry their names already.
    """
    return list(ISSUE_COLUMNS), [_cells(issues, name) for name in ISSUE_COLUMNS]


def _cells(issues: Table, name: str) -> list[Any]:
    if name not in issues and name not in PLACE:
        return [""] * issues.n
    if name in PLACE:
        column, scale = PLACE[name]
        return [_number(v, 4) for v in (issues[column] * scale).tolist()] if column in issues else [""] * issues.n
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
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise InputError(f"cannot be written: {problem.strerror}", str(path), "close the program that has it open") from problem
    return path
