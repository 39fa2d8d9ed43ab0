"""Check values of bimcheck.actions.seismic."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from bimcheck.actions.seismic import F_a, F_p, F_p_limits, S_a, a_p_R_p

Inputs = Mapping[str, Any]


def _S_a(i: Inputs) -> float:
    return float(S_a(i["alpha"], i["S"], i["z_over_H"], i["Ta_over_T1"]))


def _F_a(i: Inputs) -> float:
    return float(F_a(_S_a(i), i["Wa"], i["gamma_a"], i["qa"]))


def _F_p(i: Inputs) -> float:
    height = i["z_over_h"] if "z_over_h" in i else i["z"] / i["h"]
    return float(F_p(i["SDS"], i.get("Wp", 1.0), height, i["ap"], i["Rp"], i["Ip"]))


QUANTITIES: dict[str, Callable[[Inputs], Any]] = {
    "EC8_Sa": _S_a,
    "EC8_Fa": _F_a,
    "ASCE7-16_Fp": _F_p,
    "ASCE7-16_Fp_over_Wp": _F_p,
    "ASCE7-16_Fp_min": lambda i: float(F_p_limits(i["SDS"], i["Ip"], i["Wp"])[0]),
    "ASCE7-16_Fp_max": lambda i: float(F_p_limits(i["SDS"], i["Ip"], i["Wp"])[1]),
    "ap_Rp": lambda i: list(a_p_R_p(i["component"])),
}
