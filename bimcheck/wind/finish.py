"""The pressures of one standard as later rules read them: the same columns, whatever standard was chosen."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, MPa, text

PRESSURE = dict(file_unit="kPa", measure="IfcPressureMeasure")
PANEL_COLUMNS = (
    Column("w_suction", "MPa", "net suction, at most 0", file="w_suction_kPa", **PRESSURE),
    Column("w_pressure", "MPa", "net pressure, at least 0", file="w_pressure_kPa", **PRESSURE),
    Column("w_serv_suction", "MPa", "net suction for deflection", file="w_serv_suction_kPa", **PRESSURE),
    Column("w_serv_pressure", "MPa", "net pressure for deflection", file="w_serv_pressure_kPa", **PRESSURE),
    Column("w_basis", "text", "characteristic, strength or asd", file="w_basis", measure="IfcLabel"),
    Column("wind_flags", "text", "why not checked, outside-range and notes, each beginning with a token", file="wind_flags", measure="IfcText"),
)
ANCHOR_COLUMNS = (
    Column("w_anchor_suction", "MPa", "net suction on the anchor's tributary area", file="w_suction_kPa", **PRESSURE),
    Column("w_anchor_pressure", "MPa", "net pressure on the anchor's tributary area", file="w_pressure_kPa", **PRESSURE),
)


def flags(first: NDArray, second: NDArray) -> NDArray:
    """Two columns of texts joined row by row, blanks left out."""
    return np.where((first != "") & (second != ""), first + "; " + second, first + second)


@rule("panels", adds=PANEL_COLUMNS, clause="of the standard chosen", formula="the standard's pressures; nan where no wall zone covers the panel")
def panel_loads(
    p_suction: MPa, p_pressure: MPa, p_serv_suction: MPa, p_serv_pressure: MPa, p_basis: text, wind_uncovered: text, wind_range: text
) -> tuple[NDArray, ...]:
    """Pressures of the panels."""
    covered = wind_uncovered == ""
    pressures = (np.where(covered, p, np.nan) for p in (p_suction, p_pressure, p_serv_suction, p_serv_pressure))
    return *pressures, p_basis, flags(wind_uncovered, wind_range)


@rule("anchors", adds=ANCHOR_COLUMNS, clause="of the standard chosen", formula="the standard's pressures on the anchor's area")
def anchor_loads(p_anchor_suction: MPa, p_anchor_pressure: MPa, w_suction: MPa, w_pressure: MPa) -> tuple[Array, Array]:
    """Pressures of the anchors; nan with their panel's."""
    return p_anchor_suction + 0.0 * w_suction, p_anchor_pressure + 0.0 * w_pressure
