"""Checks of the panel: bending, deflection, sizes."""

from __future__ import annotations

import numpy as np

from bimcheck.core.columns import Column
from bimcheck.core.rule import check, rule
from bimcheck.core.units import Array, MPa, N, Nmm, mm, mm2, mm4
from bimcheck.core.units import count as integer


def plate_stress(m: Array, t: Array) -> Array:
    """Bending stress in MPa of the moment per width m (N) at thickness t (mm): 6 m / t^2."""
    return 6 * m / t**2


@check("candidates", "u_bending", "bending of the panel at anchor or in the field", demand="sigma_Ed", limit="f_d",
       clause="thin plate theory; EN 1990 6.4.2", formula="u = sigma_Ed / f_d; sigma_Ed = 6 m_Ed / t_bending^2",
       extra=[Column("sigma_Ed", "MPa", "design bending stress")])
def bending(m_Ed: N, t_bending: mm, f_d: MPa) -> tuple[Array, Array]:
    """Stress concentration at the hole and its interaction with breakout are outside the model (k_hole by test)."""
    sigma = plate_stress(m_Ed, t_bending)
    return sigma / f_d, sigma


# How far the moment at a re-entrant corner may be off (docs/method/plate.md): within the range of t over the longer side that
# was held against an independent element, and beyond it, where it was found up to 21 % too small.
CORNER, CORNER_BEYOND, CORNER_RANGE = 0.05, 0.30, (0.01, 0.05)


@rule("candidates", adds=[Column("u_corner_bound", "1", "bending at re-entrant corners if their moment is as far off as the method may be")],
      clause="common practice, no source",
      formula="u_corner_bound = c 6 m_corner_Ed / t_bending^2 / f_d; c = 1.05 where t_bending is 0.01 to 0.05 of the longer side, else 1.3")
def corner_bound(m_corner_Ed: N, t_bending: mm, f_d: MPa, width: mm, height: mm) -> Array:
    """Says where a pass hangs on the corner's accuracy."""
    slenderness = t_bending / np.maximum(width, height)
    known = (slenderness >= CORNER_RANGE[0]) & (slenderness <= CORNER_RANGE[1])
    return (1 + np.where(known, CORNER, CORNER_BEYOND)) * plate_stress(m_corner_Ed, t_bending) / f_d


@check("candidates", "u_deflection", "deflection relative to adjacent anchors", demand="w_span_k", limit="w_limit",
       clause="common practice L/200 to L/300, no source", formula="u = w_span_k / w_limit; w_span_k = q w_span / D; w_limit = span / deflection; q = max(|w_G - w_serv_suction|, |w_G - w_serv_pressure|)", section="checks",
       extra=[Column("w_span_k", "mm", "deflection under the serviceability wind"), Column("w_limit", "mm", "its limit")])
def deflection(
    w_serv_suction: MPa, w_serv_pressure: MPa, w_G: MPa, w_span: mm4, D: Nmm, span: mm, *, deflection: float,
) -> tuple[Array, Array, Array]:
    """With elastic supports and the least thickness."""
    q = np.maximum(np.abs(w_G - w_serv_suction), np.abs(w_G - w_serv_pressure))
    w, limit = q * w_span / D, span / deflection
    return w / limit, w, limit


@rule("candidates", adds=[Column("large_deflection", "1", "greatest deflection over half the thickness; above 1 thin plate theory is left"),
                          Column("w_greatest", "mm", "greatest deflection under the serviceability wind and the weight", file="w_greatest_mm", file_unit="mm")],
      clause="thin plate theory: |w| <= t / 2", formula="large_deflection = w_greatest / (t_min / 2); w_greatest = q w_unit / D; q = max(|w_G - w_serv_suction|, |w_G - w_serv_pressure|)")
def large_deflection(w_serv_suction: MPa, w_serv_pressure: MPa, w_G: MPa, w_unit: mm4, D: Nmm, t_min: mm) -> tuple[Array, Array]:
    """Out-of-range flag, an issue of its own where it exceeds 1."""
    w = np.maximum(np.abs(w_G - w_serv_suction), np.abs(w_G - w_serv_pressure)) * w_unit / D
    return w / (t_min / 2), w


@check("candidates", "u_overhang", "overhang beyond the anchors over the thickness", demand="overhang", limit="overhang_limit",
       clause="common practice, no source", formula="u = overhang / overhang_limit; overhang_limit = overhang_over_t t_min; 0 where no limit is set", section="checks",
       extra=[Column("overhang_limit", "mm", "greatest overhang")])
def overhang(overhang: mm, t_min: mm, *, overhang_over_t: float) -> tuple[Array, Array]:
    """Setting; off by default."""
    limit = overhang_over_t * t_min
    return (overhang / limit if overhang_over_t else np.zeros(len(overhang))), limit


@check("panels", "u_area", "greatest area", demand="net_area", limit="area_limit", clause="project data",
       formula="u = net_area / area_limit; 0 where no limit is set", section="checks", extra=[Column("area_limit", "mm2", "greatest area")])
def greatest_area(net_area: mm2, *, area_max_m2: float) -> tuple[Array, Array]:
    """Setting; off by default."""
    return (net_area / (area_max_m2 * 1e6) if area_max_m2 else np.zeros(len(net_area))), np.full(len(net_area), area_max_m2 * 1e6)


@check("panels", "u_side", "greatest side", demand="side", limit="side_limit", clause="project data",
       formula="u = side / side_limit; side = max(width, height); 0 where no limit is set", section="checks",
       extra=[Column("side", "mm", "greater side"), Column("side_limit", "mm", "greatest side")])
def greatest_side(width: mm, height: mm, *, side_max_mm: float) -> tuple[Array, Array, Array]:
    """Setting; off by default."""
    side = np.maximum(width, height)
    return (side / side_max_mm if side_max_mm else np.zeros(len(side))), side, np.full(len(side), side_max_mm)


@check("panels", "u_code_thickness", "code minimum thickness", demand="t_code", limit="thickness", clause="project data, for example DIN 18516-3",
       formula="u = t_code / thickness; 0 where none is set")
def code_thickness(t_code: mm, thickness: mm) -> Array:
    """By setting of the material."""
    return t_code / thickness


@check("candidates", "u_anchor_count", "least number of anchors", demand="n_least", limit="n_anchors", clause="common practice: four, three on triangles",
       formula="u = 0 where n >= n_least, else n_least / n", section="checks", extra=[Column("n_least", "count", "least number of anchors")], settings={"least_anchors": "layout.least_anchors"})
def anchor_count(n_anchors: integer, corners: integer, *, least_anchors: int) -> tuple[Array, Array]:
    """Three anchors only on triangles."""
    least = np.where(corners == 3, np.minimum(3, least_anchors), least_anchors)
    return np.where(n_anchors >= least, 0.0, least / np.maximum(n_anchors, 1)), least
