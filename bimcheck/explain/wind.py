"""The wind rules' formulas in full, with what they look up in the standard's tables.

Only printed where they come to what the rule has: another branch (parapets, open cavities, area-weighted zones) keeps the
rule's own short formula.
"""

from __future__ import annotations

import numpy as np

from bimcheck.core.errors import InputError
from bimcheck.explain.context import Context, Rule
from bimcheck.explain.quantity import Quantity, quantity
from bimcheck.wind import asce7_formulas as asce
from bimcheck.wind import velocity, walls
from bimcheck.wind.asce7 import edition_of
from bimcheck.wind.en1991_1_4 import roughness

Form = tuple[str, dict[str, Quantity]]
VELOCITY = ("q_p_h = (1 + 7 I_v_h) rho v_m_h^2 / 2; I_v_h = k_I / (c_o ln(z / z_0)); v_m_h = c_r c_o v_b; c_r = k_r ln(z / z_0); "
            "k_r = 0.19 (z_0 / z_0II)^0.07; v_b = c_season c_alt c_prob v_b0; "
            "q_p_e = (1 + 7 k_I / (c_o ln(z_1 / z_0))) rho (k_r ln(z_1 / z_0) c_o v_b)^2 / 2; z and z_1 = h and z_e, at least z_min")
WALL = ("p_suction = k_suction q_p_h c_dir_suction^2 (c_pe_suction - cp_rear_max); c_pe_suction = c_pe1 - (c_pe1 - c_pe10) log10(A / A_1); "
        "p_pressure = k_pressure q_p_e c_dir_square^2 (c_pe_pressure - cp_rear_min); c_pe1 and c_pe10 of zone {zone}, A from 1 to 10 m2")
ANCHOR = ("p_anchor_suction = k_suction q_p_h c_dir_suction^2 (c_pe - cp_rear_max); c_pe = c_pe1 - (c_pe1 - c_pe10) log10(A / A_1); "
          "c_pe1 and c_pe10 of zone {zone}, A the tributary area from 1 to 10 m2, at least the panel's suction")
ZONES = "e_side = min(wind_d, 2 h_wind); zone_A_end = e_side / 5; zone_B_end = e_side; A to e/5, B to e, C beyond, for the winds along the facade, whose breadth is wind_d"
FREQUENCY = "f_1 = sqrt(g / delta) / (2 pi); delta = rho g t_max w_unit / D; D = E_mod t_min^3 / (12 (1 - nu^2))"
ASCE_Q = "q_h = q_1 K_h K_zt K_d K_e (V / V_1)^2; K_h = K (h / z_g)^(2 / alpha); q_1 = 0.00256 psf at V_1 = 1 mph, h from 15 ft; K_d = 1 here in 7-22"
ASCE_P = ("p_suction = b K_d_in_p q_h (GC_p_suction - GC_pi); p_pressure = b K_d_in_p (q_z GC_p_pressure + q_h GC_pi); "
          "p_serv_suction = serviceability p_suction / b; p_serv_pressure = serviceability p_pressure / b; at least 16 psf; b = 0.6 on asd basis, else 1; GC_p of zone {zone} at the effective wind area")


def form(context: Context, rule: Rule) -> Form | None:
    """Formula and symbols for a rule of the wind; None where its own formula is all there is."""
    makers = {"peak-velocity-pressures": _velocity, "wall-pressures": _wall, "anchor-pressures": _anchor, "side-zones": lambda context, rule: (ZONES, {}),
              "first-frequency": _frequency, "velocity-pressures": _asce_q}
    make = makers.get(rule["name"])
    try:
        return make(context, rule) if make else None
    except (InputError, KeyError, ValueError):
        return None


def _setting(rule: Rule, key: str) -> float:
    value = rule["settings"][f"wind.{key}"]
    return float("nan") if value is None else float(value)


def _velocity(context: Context, rule: Rule) -> Form:
    s = rule["settings"]
    z0, z_min = roughness(s["wind.terrain"], s["wind.z0_m"], s["wind.z_min_m"])
    c_prob = velocity.probability_factor(_setting(rule, "exceedance"), _setting(rule, "K"), _setting(rule, "n"))
    low, displaced = 1e3 * _setting(rule, "z_n_m"), 1e3 * _setting(rule, "h_dis_m")
    z, z_1 = (max(v - displaced, 1e3 * z_min) for v in (max(context.number("h_wind"), low), context.number("z_e")))
    plain = {k: Quantity(_setting(rule, k)) for k in ("k_I", "c_o", "c_season", "c_alt")}
    return VELOCITY, {**plain, "c_prob": Quantity(c_prob), "rho": quantity(_setting(rule, "rho_kg_m3"), "kg/m3"), "v_b0": quantity(_setting(rule, "v_b0_m_s"), "m/s"),
                      "z": quantity(z, "mm"), "z_1": quantity(z_1, "mm"), "z_0": quantity(z0, "m"), "z_0II": quantity(velocity.Z0_II, "m")}


def _coefficients(context: Context, rule: Rule, area: float) -> dict[str, Quantity]:
    """c_pe,1 and c_pe,10 of the panel's zone, and the area within their range."""
    table = walls.coefficients(rule["settings"]["wind.wall_table"])
    zone = walls.ZONES.index(str(context.value("panels", "zone")))
    slender = context.number("h_wind") / context.number("wind_d")
    one, ten = (float(walls.wall_coefficient(table, zone, slender, a)) for a in (1.0, 10.0))
    return {"c_pe1": Quantity(one), "c_pe10": Quantity(ten), "A": quantity(float(np.clip(area, 1e6, 1e7)), "mm2"), "A_1": quantity(1.0, "m2")}


def _wall(context: Context, rule: Rule) -> Form:
    zone = str(context.value("panels", "zone"))
    if "GC_p_suction" in rule["adds"]:
        b = 0.6 if rule["settings"]["wind.asce_basis"] == "asd" else 1.0
        GC_pi = asce.internal_coefficient(rule["settings"]["wind.enclosure"])
        stored = {k: Quantity(context.number(k)) for k in ("GC_p_suction", "GC_p_pressure")}
        return ASCE_P.format(zone=zone), {**stored, "b": Quantity(b), "GC_pi": Quantity(GC_pi)}
    stored = {k: Quantity(context.number(k)) for k in ("c_pe_pressure", "c_dir_suction")}
    return WALL.format(zone=zone), {**stored, **_coefficients(context, rule, context.number("A_loaded"))}


def _anchor(context: Context, rule: Rule) -> Form | None:
    if "GC_p_suction" in context.made_by:
        return None
    zone = str(context.value("panels", "zone"))
    return ANCHOR.format(zone=zone), {"c_dir_suction": Quantity(context.number("c_dir_suction")),
                                      **_coefficients(context, rule, context.number("tributary", "anchors"))}


def _frequency(context: Context, rule: Rule) -> Form:
    return FREQUENCY, {"g": quantity(9.80665, "m/s2"), "rho": quantity(context.number("density", "candidates"), "kg/m3")}


def _asce_q(context: Context, rule: Rule) -> Form:
    s = rule["settings"]
    edition = edition_of(s["wind.standard"])
    constants = asce.exposure_constants(edition, s["wind.exposure"])
    h = min(max(context.number("h_wind") / 304.8, constants.z_least), constants.z_g)
    K_d = s["wind.K_d"] if constants.K_d_in == "q" else 1.0
    return ASCE_Q, {"q_1": quantity(0.00256, "psf"), "V": quantity(s["wind.v_mph"], "mph"), "V_1": quantity(1.0, "mph"), "K": Quantity(constants.K),
                    "h": quantity(h, "ft"), "z_g": quantity(constants.z_g, "ft"), "alpha": Quantity(constants.alpha), "K_zt": Quantity(s["wind.K_zt"]),
                    "K_d": Quantity(K_d), "K_e": Quantity(asce.elevation_factor(s["wind.ground_elevation_ft"]))}
