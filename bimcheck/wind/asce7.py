"""ASCE 7-16 and 7-22, components and cladding of walls: rules.  The formulas live in asce7_formulas, in US units; they are
converted once, here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.errors import InputError
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, MPa, count, factor, mm, mm2, ratio, text
from bimcheck.wind import asce7_formulas as asce
from bimcheck.wind.finish import anchor_loads, panel_loads
from bimcheck.wind.site import PARAPET, PLAIN, building_height, joined, plan_extents, tributary_edges, wall_cases

__all__ = ["anchor_loads", "building_height", "panel_loads", "plan_extents", "tributary_edges", "wall_cases"]

FT, FT2, PSF = factor("ft"), factor("ft2"), factor("psf")
CASES = np.array(["4", "5"], dtype=object)
SMALLEST = 1.0  # ft2, below both figures: coefficients of the smallest area


def edition_of(standard: str) -> str:
    """"7-16" or "7-22" from the name of the standard; raises InputError for others."""
    for edition in ("7-16", "7-22"):
        if standard.endswith(f"asce{edition}"):
            return edition
    raise InputError(f"'{standard}' names no edition of ASCE 7", "[wind] standard", "use asce7-16 or asce7-22")


@rule("panels", adds=[Column("q_h", "MPa", "velocity pressure at the mean roof height", file="q_h_kPa", file_unit="kPa", measure="IfcPressureMeasure"),
                      Column("q_z", "MPa", "velocity pressure for positive pressure: at the panel's top above 60 ft, else q_h", file="q_z_kPa", file_unit="kPa", measure="IfcPressureMeasure"),
                      Column("K_d_in_p", "1", "directionality factor where it stands in the pressure (7-22), else 1")],
      clause="ASCE 7-16 26.10, 7-22 26.10", formula="q = 0.00256 K_z K_zt K_d K_e V^2 (7-22: without K_d); K_z = K (max(z, 15 ft) / z_g)^(2 / alpha)", section="wind")
def velocity_pressures(
    h_wind: mm, z_top: mm, wall_case: count, *, standard: str, exposure: str, v_mph: float, K_zt: float, K_d: float, ground_elevation_ft: float
) -> tuple[Array, Array, float]:
    """Velocity pressures, strength level."""
    site = asce.Site(edition_of(standard), exposure, v_mph, K_zt, K_d, asce.elevation_factor(ground_elevation_ft))
    q_h, q_z = site.pressures(h_wind / FT, np.where(wall_case == PARAPET, h_wind, z_top) / FT)
    return PSF * q_h, PSF * q_z, site.K_d_in_p


@rule("panels", adds=[Column("a_zone", "mm", "width of zone 5", file="a_zone_m", file_unit="m", measure="IfcLengthMeasure"),
                      Column("A_loaded", "mm2", "effective wind area of the panel", file="A_loaded_m2", file_unit="m2", measure="IfcAreaMeasure")],
      clause="ASCE 7 26.2, Figures 30.3-1, 30.5-1 (7-22: 30.4-1)", formula="a = min(0.1 least, 0.4 h) >= 0.04 least, 3 ft (h > 60 ft: 0.1 least >= 3 ft); A = span max(width, span / 3)")
def zone_and_area(width: mm, height: mm, h_wind: mm, wind_least: mm) -> tuple[Array, Array]:
    """Width of the corner zone; effective wind area with the longer side as span."""
    a = FT * asce.zone_width(h_wind / FT, wind_least / FT)
    return a, FT2 * asce.effective_area(np.maximum(width, height) / FT, np.minimum(width, height) / FT)


@dataclass(frozen=True)
class Rows:
    """What a net pressure depends on, per row: height (mm), case, zone-5 share, area (mm2), q_h, q_z (MPa), K_d in p."""

    h: Array
    case: NDArray[np.int64]
    corner: Array
    area: Array
    q_h: Array
    q_z: Array
    K_d: Array


def net_pressures(rows: Rows, GC_pi: float, roof: float, closers: str) -> tuple[Array, Array, Array, Array]:
    """GC_p of suction and pressure; net suction (<= 0) and pressure (>= 0) in MPa, strength level."""
    h, area = rows.h / FT, rows.area / FT2
    out, into = (asce.coefficient(h, case, area, roof) for case in ("4", "+"))
    out = out + rows.corner * (asce.coefficient(h, "5", area, roof) - out)
    # Behind the panel: the internal coefficient, or through an open cavity the face round the corner.
    rear_out, rear_in = (np.full(len(h), GC_pi) for _ in range(2))
    if closers == "open":
        rear_out = np.maximum(rear_out, asce.coefficient(h, "+", SMALLEST, roof))
        rear_in = np.maximum(rear_in, -asce.coefficient(h, "5", SMALLEST, roof))
    raised = rows.case == PARAPET
    if raised.any():
        rear_out = np.where(raised, np.maximum(rear_out, into), rear_out)
        rear_in = np.where(raised, np.maximum(rear_in, -np.where(rows.corner > 0, asce.ROOF_CORNER, asce.ROOF_EDGE)), rear_in)
    q_h, q_z = rows.q_h / PSF, rows.q_z / PSF
    suction = asce.net_pressure(q_h, q_h, out, rear_out, rows.K_d)
    return out, into, PSF * suction, PSF * asce.net_pressure(q_z, q_h, into, rear_in, rows.K_d)


def corner_share(case: NDArray[np.int64], left: Array, right: Array, a: Array, spread: Array | None = None) -> Array:
    """Share of zone 5: 1 where it is touched, or its part of the width `spread`; 1 for recesses, returns and reveals."""
    if spread is None:
        share = asce.worst_zone(np.minimum(left, right), a).astype(float)
    else:
        share = np.clip((np.clip(a - left, 0, spread) + np.clip(a - right, 0, spread)) / spread, 0.0, 1.0)
    return np.where((case == PLAIN) | (case == PARAPET), share, 1.0)


def delivered(p: Array, asce_basis: str) -> Array:
    """The pressure on the basis asked for: strength level as it is, or 0.6 of it."""
    return asce.allowable(p) if asce_basis == "asd" else p


@rule("panels", adds=[Column("zone", "text", "wall zone, 4 or 5", file="zone", measure="IfcLabel"),
                      Column("GC_p_suction", "1", "external coefficient, suction", file="GC_p_suction", file_unit="1"),
                      Column("GC_p_pressure", "1", "external coefficient, pressure", file="GC_p_pressure", file_unit="1"),
                      Column("p_suction", "MPa", "net suction by the standard"), Column("p_pressure", "MPa", "net pressure by the standard"),
                      Column("p_serv_suction", "MPa", "the same for deflection"), Column("p_serv_pressure", "MPa", "the same for deflection"),
                      Column("p_basis", "text", "basis of the standard's pressures")],
      clause="ASCE 7-16 30.2.2, 30.3.2, 30.5.2, 30.9; 7-22 30.2.2, 30.3.2, 30.4.2", formula="p = K_d' [q GC_p - q_h GC_pi] >= 16 psf; ASD 0.6 p; deflection 0.42 p", section="wind")
def wall_pressures(
    s_left: mm, s_right: mm, width: mm, h_wind: mm, wall_case: count, a_zone: mm, A_loaded: mm2, q_h: MPa, q_z: MPa, K_d_in_p: ratio,
    wind_uncovered: text, *, straddle: str, enclosure: str, flat_roof: bool, closers: str, asce_basis: str, serviceability: float,
) -> tuple[NDArray, ...]:
    """Net pressures of each panel."""
    spread = width if straddle == "area-weighted" else None
    corner = corner_share(wall_case, s_left, s_right, a_zone, spread)
    rows = Rows(h_wind, wall_case, corner, A_loaded, q_h, q_z, K_d_in_p)
    GC_out, GC_in, suction, pressure = net_pressures(rows, asce.internal_coefficient(enclosure), _roof(flat_roof), closers)
    zone = np.where(wind_uncovered == "", CASES[(corner > 0).astype(int)], "")
    return (zone, GC_out, GC_in, delivered(suction, asce_basis), delivered(pressure, asce_basis), serviceability * suction,
            serviceability * pressure, np.full(len(width), asce_basis, dtype=object))


def _roof(flat_roof: bool) -> float:
    return asce.FLAT_ROOF if flat_roof else 1.0


@rule("panels", adds=[Column("wind_range", "text", "where the standard's range is left; blank inside")],
      clause="ASCE 7 30.1, 30.9", formula="plane walls")
def range_of_validity(form: text, wall_case: count) -> NDArray:
    """Flags of panels outside the range of the figures."""
    return joined([
        (form == "curved", "outside-range: curved face, treated as a plane wall (ASCE 7 30.1)"),
        (wall_case == PARAPET, "note: parapet by ASCE 7 30.9, roof coefficients from memory"),
    ])


@rule("anchors", adds=[Column("p_anchor_suction", "MPa", "net suction by the standard on the anchor's area"),
                       Column("p_anchor_pressure", "MPa", "net pressure by the standard on the anchor's area")],
      clause="ASCE 7 26.2 (fasteners), Figures 30.3-1, 30.5-1 (7-22: 30.4-1)", formula="GC_p of the anchor's tributary area, worst zone it touches, at least the panel's", section="wind")
def anchor_pressures(
    tributary_left: mm, tributary_right: mm, tributary: mm2, s_left: mm, s_right: mm, width: mm, h_wind: mm, wall_case: count,
    a_zone: mm, q_h: MPa, q_z: MPa, K_d_in_p: ratio, p_suction: MPa, p_pressure: MPa,
    *, enclosure: str, flat_roof: bool, closers: str, asce_basis: str,
) -> tuple[Array, Array]:
    """Net pressures for each anchor's own area."""
    corner = corner_share(wall_case, s_left + tributary_left, s_right + width - tributary_right, a_zone)
    rows = Rows(h_wind, wall_case, corner, tributary, q_h, q_z, K_d_in_p)
    _, _, suction, pressure = net_pressures(rows, asce.internal_coefficient(enclosure), _roof(flat_roof), closers)
    return np.minimum(delivered(suction, asce_basis), p_suction), np.maximum(delivered(pressure, asce_basis), p_pressure)
