"""Candidates grouped: what a model holds, before anything is decided upon it."""

from __future__ import annotations

from typing import Any

import numpy as np

from bimcheck.read.result import ReadResult

SIZE = 1.0  # mm; sizes are grouped to this


def inspect_rows(result: ReadResult) -> list[dict[str, Any]]:
    """One row a group of elements alike in class, material, size, status and reason, the largest group first.

    Sizes are the sides of the rectangle along the body's own edges, the longer first, mm; None without a plate.
    """
    table = result.elements
    length, breadth = _sides(table["raw_outline"])
    groups: dict[tuple[Any, ...], list[int]] = {}
    for row in range(table.n):
        size = tuple(_rounded(x) for x in (length[row], breadth[row], table["thickness"][row]))
        key = (table["model"][row], table["ifc_class"][row], table["material_name"][row], *size, table["status"][row], table["reason"][row])
        groups.setdefault(key, []).append(row)
    names = ("model", "ifc_class", "material_name", "length_mm", "breadth_mm", "thickness_mm", "status", "reason")
    rows = [dict(zip(names, key, strict=True), count=len(at), example_name=table["name"][at[0]], example_guid=table["guid"][at[0]])
            for key, at in groups.items()]
    return sorted(rows, key=lambda r: (-r["count"], str([r[n] for n in names])))


def _rounded(value: float) -> float | None:
    return round(float(value) / SIZE) * SIZE if np.isfinite(value) else None


def _sides(outline: Any) -> tuple[np.ndarray, np.ndarray]:
    out = np.full((2, len(outline)), np.nan)
    for row in np.flatnonzero(outline.lengths > 0).tolist():
        out[:, row] = np.sort(np.ptp(outline[row][:, :2], axis=0))[::-1]
    return out[0], out[1]
