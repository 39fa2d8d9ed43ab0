"""Earthquake on the panel as a non-structural element, by setting."""

from __future__ import annotations

import csv
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

import numpy as np

from bimcheck.core.columns import Column
from bimcheck.core.errors import InputError, PlanError
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, N, mm, mm2

NOT_BUILT = ("seismic standard asce7-22 is not built", "[seismic] standard", "use asce7-16, or 'none' and prove it by hand")


@cache
def component_table() -> dict[str, tuple[float, float]]:
    """a_p and R_p of each component (ASCE 7-16 Table 13.5-1; the data file states the source of each row)."""
    text = files("bimcheck.actions").joinpath("data/asce7_16_table_13_5_1.csv").read_text(encoding="utf-8")
    return {r["component"]: (float(r["a_p"]), float(r["R_p"])) for r in csv.DictReader(text.splitlines())}


def a_p_R_p(component: str) -> tuple[float, float]:
    """(a_p, R_p) of a component; raises InputError with the nearest known name."""
    table = component_table()
    if component not in table:
        near = get_close_matches(component, table, 1, 0.0)
        raise InputError(f"no component '{component}'", "[seismic] component", f"nearest known: {near[0]}")
    return table[component]


def S_a(alpha: Array | float, S: Array | float, z_over_H: Array | float, Ta_over_T1: Array | float) -> Array:
    """Seismic coefficient: alpha S [3 (1 + z/H) / (1 + (1 - Ta/T1)^2) - 0.5] >= alpha S (EN 1998-1 4.3.5.2 (4.25))."""
    base = np.asarray(alpha, dtype=float) * S
    return np.maximum(base * (3 * (1 + np.asarray(z_over_H)) / (1 + (1 - np.asarray(Ta_over_T1)) ** 2) - 0.5), base)


def F_a(S_a: Array | float, W_a: Array | float, gamma_a: float, q_a: float) -> Array:
    """Horizontal force: F_a = S_a W_a gamma_a / q_a (EN 1998-1 4.3.5.2 (4.24))."""
    return np.asarray(S_a) * W_a * gamma_a / q_a


def F_p_limits(S_DS: float, I_p: float, W_p: Array | float) -> tuple[Array, Array]:
    """Least 0.3 and greatest 1.6 S_DS I_p W_p (ASCE 7-16 13.3.1 (13.3-2, 13.3-3))."""
    return 0.3 * S_DS * I_p * np.asarray(W_p), 1.6 * S_DS * I_p * np.asarray(W_p)


def F_p(S_DS: float, W_p: Array | float, z_over_h: Array | float, a_p: float, R_p: float, I_p: float) -> Array:
    """F_p = 0.4 a_p S_DS W_p (1 + 2 z/h) / (R_p / I_p) within its limits (ASCE 7-16 13.3.1 (13.3-1))."""
    least, most = F_p_limits(S_DS, I_p, W_p)
    value = 0.4 * a_p * S_DS * np.asarray(W_p) * (1 + 2 * np.clip(z_over_h, 0, 1)) / (R_p / I_p)
    return np.clip(value, least, most)


@rule("panels", adds=[Column("w_E", "MPa", "earthquake on the panel as a pressure, either way; 0 where none is set"),
                      Column("w_E_anchor", "MPa", "the same for its anchors, in the panel's plane too (fasteners of ASCE 7 have factors of their own)")],
      clause="EN 1998-1 4.3.5; ASCE 7-16 13.3", formula="w_E = F / A; F = S_a W gamma_a / q_a, or F = 0.4 a_p S_DS W (1 + 2 z / h) / (R_p / I_p) within its limits",
      section="seismic")
def earthquake_pressure(
    W: N, net_area: mm2, z: mm, h_building: mm, *, standard: str, alpha: float, S: float, gamma_a: float, q_a: float,
    Ta_over_T1: float, S_DS: float, I_p: float, component: str,
    component_anchor: str,
) -> tuple[Array, Array]:
    """Inertia of the panel spread over its area; refuses asce7-22 (another formula, 13.3-1)."""
    height = np.clip(z / h_building, 0, 1)
    if standard == "en1998-1":
        w_E = F_a(S_a(alpha, S, height, Ta_over_T1), W, gamma_a, q_a) / net_area
        return w_E, w_E
    if standard == "asce7-16":
        of_panel, of_anchor = (F_p(S_DS, W, height, *a_p_R_p(c), I_p) / net_area for c in (component, component_anchor))
        return of_panel, of_anchor
    if standard == "asce7-22":
        raise PlanError(*NOT_BUILT)
    return np.zeros(len(W)), np.zeros(len(W))
