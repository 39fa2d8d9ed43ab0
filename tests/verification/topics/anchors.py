"""Check values of units, statics of anchors, interaction, movement and tolerances."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from bimcheck.actions.weight import self_weight, upper_anchor_tension
from bimcheck.checks.anchors import interaction_of
from bimcheck.checks.joints import thermal_movement
from bimcheck.core.units import G0, factor
from bimcheck.hardware.lengths import stack_rss, stack_worst_case
from bimcheck.plate.strip_check import EQUAL_MOMENTS, midspan_moment, support_moment, tributary_force

Inputs = Mapping[str, Any]


def _unit(unit: str, to: str) -> Callable[[Inputs], float]:
    return lambda _: factor(unit, to)


def _interaction(rule: str) -> Callable[[Inputs], float]:
    return lambda i: float(interaction_of(i["betaN"], i["betaV"], rule))


QUANTITIES: dict[str, Callable[[Inputs], Any]] = {
    "lbf_to_N": _unit("lbf", "N"), "kip_to_kN": _unit("kip", "kN"), "psi_to_Pa": _unit("psi", "Pa"), "psf_to_Pa": _unit("psf", "Pa"),
    "mph_to_ms": _unit("mph", "m/s"), "ft_to_m": _unit("ft", "m"), "in_to_mm": _unit("in", "mm"),
    "lb_per_ft3_to_kg_per_m3": _unit("lb/ft3", "kg/m3"), "g0": lambda _: G0, "kgf_to_N": _unit("kgf", "N"), "ft2_to_m2": _unit("ft2", "m2"),
    "strip_moment_over_support": lambda i: support_moment(i["q_kPa"] * factor("kPa"), i["c_mm"]),
    "strip_moment_midspan": lambda i: midspan_moment(i["q_kPa"] * factor("kPa"), i["L_mm"], i["c_mm"]),
    "c_over_L_equal_moments": lambda _: EQUAL_MOMENTS,
    "anchor_tension_symmetric": lambda i: tributary_force(i["q_kPa"] * factor("kPa"), i["B"] * i["H"], i["n"]),
    "self_weight": lambda i: float(self_weight(i["B"] * i["H"], i["t"], i["rho"])),
    "upper_anchor_tension_from_eccentricity": lambda i: float(upper_anchor_tension(i["W_N"], i["e_mm"], i["hv_mm"], i["n_upper"])),
    "interaction_linear": _interaction("linear"), "interaction_power1.5": _interaction("power-1.5"), "interaction_power2": _interaction("power-2"),
    "thermal_movement": lambda i: float(thermal_movement(i["L_mm"], i["alpha"], i["dT_K"])),
    "tolerance_rss": lambda i: stack_rss([i["tol_each"]] * i["n"]),
    "tolerance_worst_case": lambda i: stack_worst_case([i["tol_each"]] * i["n"]),
}
