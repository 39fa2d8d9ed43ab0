"""panels.csv and anchors.csv: the columns outside checks rely on first, then every check."""

from __future__ import annotations

import math
import os
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, gather
from bimcheck.core.units import factor

Texts = NDArray[np.object_]
_SPECIAL = re.compile(r'[,"\r\n]')

# file column | table column | unit inside | unit in the file
_PANELS = """
guid|guid step_id|step_id name|name mark|mark model|model ifc_class|ifc_class status|status reason|reason storey|storey
facade|facade place|place material|material width_mm|width|mm|mm height_mm|height|mm|mm thickness_mm|thickness|mm|mm
net_area_m2|net_area|mm2|m2 mass_kg|mass|kg|kg normal_x|normal_x normal_y|normal_y normal_z|normal_z z_m|z|mm|m
corner_distance_m|corner_distance|mm|m joint_left_mm|joint_left|mm|mm joint_right_mm|joint_right|mm|mm
joint_bottom_mm|joint_bottom|mm|mm joint_top_mm|joint_top|mm|mm zone|zone w_basis|w_basis
w_suction_kPa|w_suction|MPa|kPa w_pressure_kPa|w_pressure|MPa|kPa pattern|pattern_selected n_anchors|n_anchors_selected
governing_check|governing_check utilisation|utilisation result|result thickness_max_mm|thickness_max|mm|mm item|item
fabrication_mark|drill_mark lot|lot way_out|way_out moment_combination|m_combination moment_place|m_place
"""
_ANCHORS = """
model|model panel_step_id|step_id panel_guid|guid anchor|slot x_rear_mm|x_rear|mm|mm y_mm|y|mm|mm wx_m|wx|mm|m wy_m|wy|mm|m
wz_m|wz|mm|m edge_mm|edge|mm|mm role|role w_suction_kPa|w_anchor_suction|MPa|kPa tension_N|N_Ed shear_N|V_Ed
utilisation|u_anchor item|item spacing_mm|spacing|mm|mm tension_resistance_N|N_Rd shear_resistance_N|V_Rd
tributary_m2|tributary|mm2|m2 hole_depth_mm|hole_depth|mm|mm counterbore_mm|counterbore_set|mm|mm
hole_diameter_mm|hole_diameter|mm|mm bolt_length_mm|bolt_length|mm|mm combination|combination
"""


def panel_rows(elements: Table, panels: Table, checks: Sequence[str]) -> tuple[list[str], list[Texts]]:
    """Header and columns of panels.csv, a row for every element considered."""
    specs = [s.split("|") for s in _PANELS.split()]
    columns = [_merged(elements, panels, s[1], s[2:]) for s in specs]
    header = [s[0] for s in specs] + [c for c in checks if c in panels]
    return header, columns + [_merged(elements, panels, c, []) for c in checks if c in panels]


def _merged(elements: Table, panels: Table, name: str, units: Sequence[str]) -> Texts:
    """Texts of one column: the panels' value where there is one, else the element's."""
    scale = factor(*units) if units else 1.0
    out = texts(elements[name], scale) if name in elements else np.full(elements.n, "", dtype=object)
    if name in panels:
        out[panels["element"]] = texts(panels[name], scale)
    return out


def anchor_rows(tables: Mapping[str, Table], checks: Sequence[str]) -> tuple[list[str], list[Texts]]:
    """Header and columns of anchors.csv, a row an anchor of a selected layout."""
    anchors = tables["anchors"]
    used = [np.asarray(anchors[c], dtype=float) for c in checks if c in anchors]
    worst = np.max(used, axis=0) if used else np.full(anchors.n, np.nan)
    whole = {**tables, "anchors": anchors.with_columns(u_anchor=worst)}
    specs = [s.split("|") for s in _ANCHORS.split()]
    columns = []
    for spec in specs:
        column: Any = gather(whole, "anchors", spec[1])
        scale = factor(*spec[2:]) if len(spec) > 2 else 1.0
        columns.append(np.full(anchors.n, "", dtype=object) if column is None
                       else "A" + texts(column) if spec[1] == "slot" else texts(column, scale))
    return [s[0] for s in specs], columns


def texts(column: Any, scale: float = 1.0) -> Texts:
    """What a file says for each value: numbers rounded to 7 decimals, blank for nan.

    Columns repeat themselves (one pressure a zone, one inset a layout), so that each distinct value is written once.
    """
    if column.dtype.kind not in "fiu":
        return np.array([str(v) for v in column.tolist()], dtype=object)
    values = np.round(column * scale, 7) + 0.0 if column.dtype.kind == "f" else column
    distinct, row = np.unique(values, return_inverse=True)
    said = ["" if math.isnan(v) else repr(v) for v in distinct.tolist()]
    return np.array(said, dtype=object)[row.ravel()]


def write_csv(path: Path, header: Sequence[str], columns: Iterable[Any]) -> Path:
    """UTF-8, a header row, whole or not at all (RFC 4180, lines end in a line feed).  columns: of texts or plain values."""
    part = path.with_name(path.name + ".part")
    with part.open("w", encoding="utf-8", newline="") as file:
        file.write(",".join(map(_quoted, header)) + "\n")
        file.writelines(map("{}\n".format, map(",".join, zip(*map(_fields, columns), strict=True))))
    os.replace(part, path)
    return path


def _fields(column: Any) -> list[str]:
    values = column.tolist() if isinstance(column, np.ndarray) else list(column)
    if set(map(type, values)) <= {str}:
        return values if not _SPECIAL.search("".join(set(values))) else [_quoted(v) for v in values]
    return [_quoted(v) for v in values]


def _quoted(value: Any) -> str:
    text = "" if value is None else value if isinstance(value, str) else repr(value) if isinstance(value, float) else str(value)
    return '"' + text.replace('"', '""') + '"' if _SPECIAL.search(text) else text
