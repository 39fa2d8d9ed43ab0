"""EN 1990: factors and the sum with wind leading, through the combinations of a run."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bimcheck.actions import combinations as actions

QUANTITIES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "gamma_G_unfav": lambda _: actions.GAMMA_G_UNFAV,
    "gamma_G_fav": lambda _: actions.GAMMA_G_FAV,
    "gamma_Q": lambda _: actions.GAMMA_Q,
    "psi0_wind": lambda _: actions.PSI_WIND[0],
    "psi1_wind": lambda _: actions.PSI_WIND[1],
    "psi2_wind": lambda _: actions.PSI_WIND[2],
    "psi0_temp": lambda _: actions.PSI_TEMPERATURE[0],
    "psi1_temp": lambda _: actions.PSI_TEMPERATURE[1],
    "psi2_temp": lambda _: actions.PSI_TEMPERATURE[2],
    "ULS_6.10_wind_leading_sum": lambda x: actions.uls_wind_leading(x["G"], x["W"], x["T"]),
}
