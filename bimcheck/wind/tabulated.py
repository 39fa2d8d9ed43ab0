"""Tabulated pressures from a wind-tunnel study: rules.  The table is read and checked in `study`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, MPa, mm, text
from bimcheck.wind.finish import ANCHOR_COLUMNS, PANEL_COLUMNS
from bimcheck.wind.study import Areas, study, worst

CLAUSE = "wind-tunnel study of the project"


@rule("panels", adds=[Column("t_suction", "MPa", "worst tabulated suction over the panel", file="t_suction_kPa", file_unit="kPa"),
                      Column("t_pressure", "MPa", "worst tabulated pressure over the panel", file="t_pressure_kPa", file_unit="kPa"),
                      Column("t_basis", "text", "basis of the table")],
      clause=CLAUSE, formula="the worst row of the table that the panel touches", section="wind")
def table_pressures(facade: text, z_bottom: mm, z_top: mm, s_left: mm, width: mm, *, table: str) -> tuple[NDArray, ...]:
    """Tabulated pressures of each panel, places that wall zones do not cover among them."""
    found = study(table)
    suction, pressure = worst(found, Areas(facade, z_bottom, z_top, s_left, s_left + width), table)
    return suction, pressure, np.full(len(width), found.basis, dtype=object)


@rule("anchors", adds=[Column("t_anchor_suction", "MPa", "worst tabulated suction over the anchor's area"),
                       Column("t_anchor_pressure", "MPa", "worst tabulated pressure over the anchor's area")],
      clause=CLAUSE, formula="the panel's worst row")
def table_anchor_pressures(t_suction: MPa, t_pressure: MPa) -> tuple[Array, Array]:
    """The panel's: no smaller part of a panel takes less than its worst row."""
    return t_suction, t_pressure


@rule("panels", adds=[Column("zone", "text", "table: pressures were tabulated", file="zone", measure="IfcLabel"), *PANEL_COLUMNS],
      clause=CLAUSE, formula="the table's pressures; strength level: deflection takes [wind] serviceability of them", section="wind")
def table_loads(t_suction: MPa, t_pressure: MPa, t_basis: text, *, serviceability: float) -> tuple[NDArray, ...]:
    """Pressures of the panels."""
    share = serviceability_share(t_basis, serviceability)
    flags = np.where(np.isnan(t_suction), "no-facade: the panel lies in no facade", "").astype(object)
    zone = np.full(len(t_suction), "table", dtype=object)
    return zone, t_suction, t_pressure, share * t_suction, share * t_pressure, t_basis, flags


def serviceability_share(basis: NDArray, serviceability: float) -> Array:
    """1 for characteristic pressures; of strength level [wind] serviceability; of ASD level that over 0.6."""
    return np.select([basis == "characteristic", basis == "strength"], [1.0, serviceability], serviceability / 0.6)


@rule("anchors", adds=ANCHOR_COLUMNS, clause=CLAUSE, formula="the table's pressures")
def table_anchor_loads(t_anchor_suction: MPa, t_anchor_pressure: MPa) -> tuple[Array, Array]:
    """Pressures of the anchors."""
    return t_anchor_suction, t_anchor_pressure
