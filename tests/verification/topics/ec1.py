"""EN 1991-1-4: check values through the functions of the wind rules."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bimcheck.core.units import factor
from bimcheck.wind import skins, velocity, walls
from bimcheck.wind.settings import Wind

Inputs = dict[str, Any]
GAP_MM = 60.0  # any gap below the 100 mm that the rows presume
STRIP_M = Wind.model_fields["strip_m"].default


def _terrain(x: Inputs) -> tuple[float, float]:
    return velocity.terrain_roughness(x["terrain"])


def _h_over_d(x: Inputs) -> float:
    return x["h_over_d"] if "h_over_d" in x else walls.slenderness(x["h"], x["d"])


def _q_p(x: Inputs, z: float) -> float:
    rho = x.get("rho", velocity.RHO)
    return velocity.peak_pressure(z, x["vb"], *_terrain(x), rho=rho)


def _cpe(x: Inputs) -> float:
    return walls.wall_coefficient(walls.coefficients(), walls.ZONES.index(x["zone"]), _h_over_d(x), x["A_m2"])


def _z_e(x: Inputs) -> float:
    return x.get("ze", x.get("ze_m", x.get("h")))


def _width(x: Inputs, zone: int) -> float:
    return walls.zone_widths(walls.zone_scale(x["b"], x["h"]), x["d"])[zone]


QUANTITIES: dict[str, Callable[[Inputs], Any]] = {
    "z0": lambda x: _terrain(x)[0],
    "zmin": lambda x: _terrain(x)[1],
    "kr": lambda x: velocity.terrain_factor(_terrain(x)[0]),
    "cr": lambda x: velocity.roughness_factor(x["z_m"], *_terrain(x)),
    "ce": lambda x: velocity.exposure_factor(x["z_m"], *_terrain(x)),
    "vm": lambda x: velocity.mean_velocity(x["z_m"], x["vb"], *_terrain(x)),
    "Iv": lambda x: velocity.turbulence_intensity(x["z_m"], *_terrain(x)),
    "sigma_v": lambda x: velocity.turbulence_deviation(x["vb"], _terrain(x)[0]),
    "qb": lambda x: velocity.basic_pressure(x["vb"], x.get("rho", velocity.RHO)),
    "qp": lambda x: _q_p(x, x["z_m"]),
    "qp_h": lambda x: _q_p(x, x["h"]),
    "cprob": lambda x: velocity.probability_factor(x["p"], x["K"], x["n"]),
    "e": lambda x: walls.zone_scale(x["b"], x["h"]),
    "zoneA_width": lambda x: _width(x, walls.A),
    "zoneB_width": lambda x: _width(x, walls.B),
    "zoneC_width": lambda x: _width(x, walls.C),
    "h_over_d": _h_over_d,
    "ze_windward": lambda x: walls.reference_height(x.get("z", x["h"]), x["b"], x["h"], STRIP_M),
    "ze_strips": lambda x: walls.windward_strips(x["b"], x["h"], x.get("hstrip") or STRIP_M),
    "cpe": _cpe,
    "we": lambda x: walls.external_pressure(_q_p(x, _z_e(x)), _cpe(x)),
    "cpi_default_over": lambda _: skins.CPI_OVER,
    "cpi_default_under": lambda _: skins.CPI_UNDER,
    "cpi_dominant_2x_factor": lambda x: skins.dominant_factor(x["area_ratio"]),
    "cpi_dominant_3x_factor": lambda x: skins.dominant_factor(x["area_ratio"]),
    "cpnet_outer_overpressure_factor": lambda x: skins.two_skin_factors(*_declared(x))[1],
    "cpnet_outer_underpressure_factor": lambda x: skins.two_skin_factors(*_declared(x))[0],
    "impermeable_skin_limit_mu": lambda _: skins.MU_AIRTIGHT,
    "cpnet_outer": lambda x: skins.net_coefficient(x["cpe"], 0.0, *skins.two_skin_factors(True, GAP_MM, True, 0.0)),
}


def _declared(x: Inputs) -> tuple[bool, float, bool, float]:
    """The declared data that the row describes in words."""
    gap = x["gap_mm_lt"] * (1 - 1e-9) * factor("mm")
    return True, gap, x["extremities"] == "closed", 0.0 if x["inner"] == "impermeable" else 1.0
