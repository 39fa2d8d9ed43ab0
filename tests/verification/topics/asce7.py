"""ASCE 7 components and cladding: check values through the functions of the wind rules."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bimcheck.core.units import factor
from bimcheck.wind import asce7_formulas as asce7

Inputs = dict[str, Any]


def _feet(x: Inputs, key: str) -> float:
    return x[f"{key}_ft"] if f"{key}_ft" in x else x[f"{key}_m"] * factor("m", "ft")


def _K_z(edition: str) -> Callable[[Inputs], Any]:
    return lambda x: asce7.velocity_coefficient(_feet(x, "z"), asce7.exposure_constants(edition, x["exposure"]))


def _K_e(x: Inputs) -> float:
    """Rows in metres follow the SI form of the standard's equation."""
    return asce7.elevation_factor(x["ground_m"], asce7.KE_M) if "ground_m" in x else asce7.elevation_factor(x.get("ground_ft", 0.0))


def _q(x: Inputs) -> Any:
    si = "V_ms" in x
    K_e = x["Ke"] if "Ke" in x else _K_e(x)
    return asce7.velocity_pressure(x["Kz"], x["V_ms"] if si else x["V_mph"], x.get("Kzt", 1.0), x.get("Kd", 1.0), K_e,
                                   asce7.Q_SI if si else asce7.Q_US)


def _case(x: Inputs) -> str:
    """"+", "4" or "5" from the row's words."""
    words = x["case"]
    return "+" if "+" in words else "5" if "5" in words else "4"


def _GC_p(height: str) -> Callable[[Inputs], Any]:
    return lambda x: asce7.wall_coefficient(height, "+" if x["sign"] == "+" else str(x["zone"]), x["A_ft2"])


def _strength(x: Inputs) -> Any:
    case = _case(x)
    site = asce7.Site(x.get("edition", "7-16"), x["exposure"], x["V_mph"], x.get("Kzt", 1.0), x.get("Kd", asce7.K_D), x.get("Ke", 1.0))
    q_h, q_z = site.pressures(x["h_ft"], x.get("z_ft", x["h_ft"]))
    return asce7.net_pressure(q_z if case == "+" else q_h, q_h, asce7.coefficient(x["h_ft"], case, x["A_ft2"]), x["GCpi"], site.K_d_in_p)


QUANTITIES: dict[str, Callable[[Inputs], Any]] = {
    "Kz_7-10": _K_z("7-10"),
    "Kz_7-16": _K_z("7-16"),
    "Kz_7-22": _K_z("7-22"),
    "Ke": _K_e,
    "Kd": lambda _: asce7.K_D,
    "qz_7-16": _q,
    "qz_7-22": _q,
    "GCp_wall_h<=60ft": _GC_p("low"),
    "GCp_wall_h>60ft": _GC_p("high"),
    "GCp_wall_reduction_theta<=10": lambda _: asce7.FLAT_ROOF,
    "C&C_wall_net_LRFD": _strength,
    "C&C_wall_net_ASD": lambda x: asce7.allowable(_strength(x), x.get("ASD_factor", asce7.ASD)),
    "a_zone_width_h<=60": lambda x: asce7.zone_width(x["h_ft"], x["least_ft"]),
    "a_zone_width_h>60": lambda x: asce7.zone_width(float("inf"), x["least_ft"]),
    "effective_wind_area": lambda x: asce7.effective_area(x["span_ft"], x["spacing_ft"]),
    "C&C_min_net": lambda _: asce7.MIN_NET,
    "C&C_min_net_SI": lambda _: asce7.MIN_NET * factor("psf", "kPa"),
    "GCpi_enclosed": lambda _: asce7.internal_coefficient("enclosed"),
    "GCpi_partially_enclosed": lambda _: asce7.internal_coefficient("partially enclosed"),
    "GCpi_partially_open": lambda _: asce7.internal_coefficient("partially open"),
}
