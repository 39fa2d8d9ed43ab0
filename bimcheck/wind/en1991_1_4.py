"""EN 1991-1-4:2005: rules for the outer skin of walls.  Formulas live in velocity, walls, skins and parapets."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.errors import InputError
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, MPa, count, factor, mm, mm2, ratio, text
from bimcheck.wind import velocity, walls
from bimcheck.wind.directions import direction_factors
from bimcheck.wind.dynamics import first_frequency
from bimcheck.wind.faces import Skin, Winds, net_pressures
from bimcheck.wind.finish import anchor_loads, panel_loads
from bimcheck.wind.site import PARAPET, building_height, joined, plan_extents, tributary_edges, wall_cases
from bimcheck.wind.skins import internal_range, two_skin_factors

__all__ = ["anchor_loads", "building_height", "direction_factors", "first_frequency", "panel_loads", "plan_extents", "tributary_edges", "wall_cases"]

M = factor("m")
M2 = factor("m2")
PA = factor("Pa")


@rule("panels", adds=[Column("z_e", "mm", "reference height of the windward wall", file="z_e_m", file_unit="m", measure="IfcLengthMeasure")],
      clause="EN 1991-1-4 7.2.2(1), Figure 7.4", formula="z_e = h (h <= b); b or h (b < h <= 2 b); b, strip top or h (h > 2 b)", section="wind")
def windward_height(z_top: mm, h_wind: mm, wind_b: mm, wall_case: count, *, strip_m: float, z_n_m: float) -> Array:
    """Reference height of zone D by the panel's top; a parapet takes the building's height."""
    z_e = walls.reference_height(z_top, wind_b, h_wind, strip_m * M)
    return np.maximum(np.where(wall_case == PARAPET, h_wind, z_e), z_n_m * M)


@rule("panels", adds=[Column("e_side", "mm", "e = min(b, 2 h) of the winds along the facade", file="e_side_m", file_unit="m"),
                      Column("zone_A_end", "mm", "where zone A ends, from either end of the facade"),
                      Column("zone_B_end", "mm", "where zone B ends, from either end of the facade")],
      clause="EN 1991-1-4 Figure 7.5", formula="e = min(b, 2 h); A to e/5, B to e, C beyond, for the winds along the facade")
def side_zones(wind_b: mm, wind_d: mm, h_wind: mm) -> tuple[Array, Array, Array]:
    """Zones along the facade: for wind along it breadth and depth change places."""
    e = walls.zone_scale(wind_d, h_wind)
    first, second, _ = walls.zone_widths(e, wind_b)
    return e, first, first + second


@rule("panels", adds=[Column("v_b", "m/s", "basic wind velocity, all directions", file="v_b_m_s", file_unit="m/s"),
                      Column("v_m_h", "m/s", "mean wind velocity at the building's height", file="v_m_h_m_s", file_unit="m/s"),
                      Column("I_v_h", "1", "turbulence intensity there, sigma_v / v_m", file="I_v_h", file_unit="1"),
                      Column("q_p_h", "MPa", "peak velocity pressure at the building's height (zones A, B, C, E)", file="q_p_h_kPa", file_unit="kPa", measure="IfcPressureMeasure"),
                      Column("q_p_e", "MPa", "peak velocity pressure at z_e (zone D)", file="q_p_e_kPa", file_unit="kPa", measure="IfcPressureMeasure")],
      clause="EN 1991-1-4 4.2 to 4.5", formula="q_p = (1 + 7 I_v) rho v_m^2 / 2; v_m = c_r c_o v_b; v_b = c_season c_alt c_prob v_b0", section="wind")
def peak_velocity_pressures(
    h_wind: mm, z_e: mm, *, v_b0_m_s: float, terrain: str, z0_m: float | None, z_min_m: float | None, c_season: float,
    c_alt: float, exceedance: float, K: float, n: float, c_o: float, k_I: float, rho_kg_m3: float, z_n_m: float, h_dis_m: float,
) -> tuple[float, Array, Array, Array, Array]:
    """Peak velocity pressures for c_dir = 1."""
    z0, z_min = roughness(terrain, z0_m, z_min_m)
    v_b = velocity.basic_velocity(v_b0_m_s, c_season, c_alt, velocity.probability_factor(exceedance, K, n))

    at_h, at_e = (z / M - h_dis_m for z in (np.maximum(h_wind, z_n_m * M), z_e))
    v_m = velocity.mean_velocity(at_h, v_b, z0, z_min, c_o)
    q_h, q_e = (PA * velocity.peak_pressure(z, v_b, z0, z_min, rho=rho_kg_m3, c_o=c_o, k_I=k_I) for z in (at_h, at_e))
    return v_b, v_m, velocity.turbulence_deviation(v_b, z0, k_I) / v_m, q_h, q_e


def roughness(terrain: str, z0_m: float | None, z_min_m: float | None) -> tuple[float, float]:
    """Roughness of the project, else of the terrain category."""
    if z0_m is None and z_min_m is None:
        return velocity.terrain_roughness(terrain)
    if z0_m is None or z_min_m is None or z_min_m <= z0_m:
        raise InputError("a roughness of the project needs z0_m and a greater z_min_m", "[wind]", "give both, or neither")
    return z0_m, z_min_m


@rule("panels", adds=[Column("cp_rear_max", "1", "greatest pressure coefficient in the cavity behind the panel"),
                      Column("cp_rear_min", "1", "least pressure coefficient in the cavity behind the panel"),
                      Column("k_suction", "1", "two-skin factor on suction"), Column("k_pressure", "1", "two-skin factor on pressure")],
      clause="EN 1991-1-4 7.2.9, 7.2.10", formula="0 with closers; internal pressure where asked; faces joined by an open cavity", section="wind")
def rear_coefficients(
    wall_case: count, *, closers: str, internal_pressure: bool, dominant_opening_ratio: float, wall_table: str,
    two_skin: bool, cavity_gap_mm: float, inner_permeability: float,
) -> tuple[float, float, float, float]:
    """What acts behind the panels."""
    if two_skin and internal_pressure:
        raise InputError("two_skin presumes an airtight inner skin, internal_pressure none", "[wind]", "choose one of them")
    table = walls.coefficients(wall_table)
    most, least = float(table.cpe_1[walls.D].max()), float(table.cpe_1[walls.A].min())
    ranges = [(0.0, 0.0)]
    if internal_pressure:
        ranges.append(internal_range(dominant_opening_ratio, most, least))
    if closers == "open":
        ranges.append((most, least))
    factors = two_skin_factors(two_skin, cavity_gap_mm, closers == "closed", inner_permeability)
    return max(r[0] for r in ranges), min(r[1] for r in ranges), *factors


@rule("panels", adds=[Column("zone", "text", "governing wall zone for suction", file="zone", measure="IfcLabel"),
                      Column("A_loaded", "mm2", "loaded area of the panel", file="A_loaded_m2", file_unit="m2", measure="IfcAreaMeasure"),
                      Column("c_pe_suction", "1", "external coefficient of the governing suction", file="c_pe_suction", file_unit="1"),
                      Column("c_pe_pressure", "1", "external coefficient of the governing pressure", file="c_pe_pressure", file_unit="1"),
                      Column("c_dir_suction", "1", "direction factor of the governing suction", file="c_dir_suction", file_unit="1"),
                      Column("p_suction", "MPa", "net suction by the standard"), Column("p_pressure", "MPa", "net pressure by the standard"),
                      Column("p_serv_suction", "MPa", "the same for deflection"), Column("p_serv_pressure", "MPa", "the same for deflection"),
                      Column("p_basis", "text", "basis of the standard's pressures")],
      clause="EN 1991-1-4 5.2, 7.2.2, Table 7.1, Figures 7.2, 7.4, 7.5; 7.4.1",
      formula="w = k q_p c_dir^2 (c_pe - c_p,rear); e = min(b, 2 h); the worst of the winds along, onto and away from the facade", section="wind")
def wall_pressures(
    s_left: mm, s_right: mm, width: mm, net_area: mm2, facade_length: mm, wall_case: count, wind_b: mm, wind_d: mm,
    h_wind: mm, q_p_h: MPa, q_p_e: MPa, c_dir_square: ratio, c_dir_left: ratio, c_dir_right: ratio, c_dir_back: ratio,
    cp_rear_max: ratio, cp_rear_min: ratio, k_suction: ratio, k_pressure: ratio, wind_uncovered: text,
    *, straddle: str, wall_table: str, parapet_height_m: float, parapet_returns: bool,
) -> tuple[NDArray, ...]:
    """Net characteristic pressures of each panel."""
    winds = Winds(wind_b, wind_d, h_wind, q_p_h, q_p_e, c_dir_square, c_dir_left, c_dir_right, c_dir_back)
    skin = Skin(wall_case, facade_length, cp_rear_max, cp_rear_min, k_suction, k_pressure, parapet_height_m * M, parapet_returns)
    spread = width if straddle == "area-weighted" else None
    found = net_pressures(walls.coefficients(wall_table), winds, skin, s_left, s_right, net_area / M2, spread)
    zone = np.where(wind_uncovered == "", found.zone, "")
    return (zone, net_area, found.c_suction, found.c_pressure, found.c_dir, found.suction, found.pressure,
            found.suction, found.pressure, np.full(len(width), "characteristic", dtype=object))


@rule("panels", adds=[Column("wind_range", "text", "where the standard's range is left; blank inside")],
      clause="EN 1991-1-4 1.1(2), 4.3.2(1), 7.2.2(2)", formula="z <= 200 m; h/d <= 5; plane faces", section="wind")
def range_of_validity(h_wind: mm, wind_b: mm, wind_d: mm, form: text, wall_case: count, *, two_skin: bool) -> NDArray:
    """Flags of panels outside the range, and of rules that must be printed wherever they were used."""
    return joined([
        (h_wind > velocity.Z_MAX * M, "outside-range: above 200 m (EN 1991-1-4 1.1(2)), profile extrapolated"),
        (h_wind > walls.H_OVER_D_MAX * np.minimum(wind_b, wind_d), "outside-range: h/d above 5 (EN 1991-1-4 7.2.2(2)), coefficients held at 5"),
        (form == "curved", "outside-range: curved face, treated as a plane wall (EN 1991-1-4 7.2.2)"),
        (wall_case == PARAPET, "note: parapet by EN 1991-1-4 7.4.1, figures from memory"),
        (np.full(len(h_wind), two_skin), "note: two-skin rules of EN 1991-1-4 7.2.10 used, figures from memory"),
    ])


@rule("anchors", adds=[Column("p_anchor_suction", "MPa", "net suction by the standard on the anchor's area"),
                       Column("p_anchor_pressure", "MPa", "net pressure by the standard on the anchor's area")],
      clause="EN 1991-1-4 7.2.1(1), Figure 7.2", formula="c_pe of the anchor's tributary area, worst zone it touches, at least the panel's", section="wind")
def anchor_pressures(
    tributary_left: mm, tributary_right: mm, tributary: mm2, s_left: mm, s_right: mm, width: mm, facade_length: mm,
    wall_case: count, wind_b: mm, wind_d: mm, h_wind: mm, q_p_h: MPa, q_p_e: MPa, c_dir_square: ratio, c_dir_left: ratio,
    c_dir_right: ratio, c_dir_back: ratio, cp_rear_max: ratio, cp_rear_min: ratio, k_suction: ratio, k_pressure: ratio,
    p_suction: MPa, p_pressure: MPa, *, wall_table: str, parapet_height_m: float, parapet_returns: bool,
) -> tuple[Array, Array]:
    """Net characteristic pressures for each anchor's own area."""
    winds = Winds(wind_b, wind_d, h_wind, q_p_h, q_p_e, c_dir_square, c_dir_left, c_dir_right, c_dir_back)
    skin = Skin(wall_case, facade_length, cp_rear_max, cp_rear_min, k_suction, k_pressure, parapet_height_m * M, parapet_returns)
    found = net_pressures(walls.coefficients(wall_table), winds, skin, s_left + tributary_left,
                          s_right + width - tributary_right, tributary / M2, None)
    return np.minimum(found.suction, p_suction), np.maximum(found.pressure, p_pressure)
