"""A wind-tunnel table with a standard as its floor: the greater of both, in the same basis."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, MPa, text
from bimcheck.wind.finish import ANCHOR_COLUMNS, PANEL_COLUMNS, flags
from bimcheck.wind.tabulated import serviceability_share

CLAUSE = "wind-tunnel study of the project over a share of the standard"


@rule("panels", adds=PANEL_COLUMNS, clause=CLAUSE, formula="w = the greater of the table's and [wind] floor times the standard's", section="wind")
def floored_loads(
    t_suction: MPa, t_pressure: MPa, t_basis: text, p_suction: MPa, p_pressure: MPa, p_serv_suction: MPa, p_serv_pressure: MPa,
    p_basis: text, wind_uncovered: text, wind_range: text, *, floor: float, serviceability: float,
) -> tuple[NDArray, ...]:
    """Pressures of the panels; where wall zones do not cover a panel the table stands alone."""
    if len(t_basis) and t_basis[0] != p_basis[0]:
        raise InputError(f"the table is on {t_basis[0]} basis, its floor on {p_basis[0]} basis", "[wind] table", "bring both to one basis")
    share = serviceability_share(t_basis, serviceability)
    covered = np.where(wind_uncovered == "", floor, 0.0)
    place = np.where(np.isnan(t_suction), wind_uncovered, "").astype(object)
    return (least(t_suction, covered * p_suction), most(t_pressure, covered * p_pressure),
            least(share * t_suction, covered * p_serv_suction), most(share * t_pressure, covered * p_serv_pressure),
            t_basis, flags(place, wind_range))


@rule("anchors", adds=ANCHOR_COLUMNS, clause=CLAUSE, formula="the greater of the table's and [wind] floor times the standard's", section="wind")
def floored_anchor_loads(
    t_anchor_suction: MPa, t_anchor_pressure: MPa, p_anchor_suction: MPa, p_anchor_pressure: MPa, wind_uncovered: text, *, floor: float
) -> tuple[Array, Array]:
    """Pressures of the anchors."""
    covered = np.where(wind_uncovered == "", floor, 0.0)
    return least(t_anchor_suction, covered * p_anchor_suction), most(t_anchor_pressure, covered * p_anchor_pressure)


def least(table: Array, standard: Array) -> Array:
    """The lesser; nan where the table has none, the table's where the standard has none."""
    return np.where(np.isnan(standard), table, np.minimum(table, standard))


def most(table: Array, standard: Array) -> Array:
    """The greater, with nan as in `least`."""
    return np.where(np.isnan(standard), table, np.maximum(table, standard))
