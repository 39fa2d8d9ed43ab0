"""Combinations of one panel and anchor: the symbols of each in the formulas of force and moment, and which one governs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bimcheck.actions.combinations import Combination, combinations
from bimcheck.actions.misfit import misfit_factor
from bimcheck.checks.anchors import interaction_of
from bimcheck.explain.context import Context, Rule
from bimcheck.explain.formula import statements, worked
from bimcheck.explain.quantity import Quantity, quantity

TOGETHER = {"linear": "u = N_c / N_Rd + V_c / V_Rd", "1.2": "u = max(N_c / N_Rd, V_c / V_Rd, (N_c / N_Rd + V_c / V_Rd) / 1.2)",
            "power-1.5": "u = (N_c / N_Rd)^1.5 + (V_c / V_Rd)^1.5", "power-2": "u = (N_c / N_Rd)^2 + (V_c / V_Rd)^2"}
_AT_ANCHOR = {"suction": ("w_anchor_suction", -1), "pressure": ("w_anchor_pressure", -1), "seismic": ("w_E_anchor", 1)}
_ON_PANEL = {"suction": ("w_suction", -1), "pressure": ("w_pressure", -1), "seismic": ("w_E", 1)}


@dataclass(frozen=True)
class Line:
    """One combination in figures: what it comes to for the anchor, or for the plate."""

    combination: Combination
    figures: dict[str, Quantity]
    governs: bool


def table(context: Context) -> tuple[Combination, ...]:
    settings = next(r["settings"] for r in context.result.facts["rules"] if r["name"] == "plate-moment")
    basis = str(context.value("panels", "w_basis") or "")
    return combinations(settings["actions.format"], basis, settings["seismic.standard"] not in ("none", ""))


def factors(context: Context, c: Combination, every: tuple[Combination, ...], anchor: bool) -> dict[str, Quantity]:
    """gamma_G, gamma_W, gamma_mis and the wind (or earthquake) outward."""
    column, sign = (_AT_ANCHOR if anchor else _ON_PANEL).get(c.wind, ("", 0))
    w = sign * context.number(column, "anchors" if anchor else "candidates") if column else 0.0
    return {"gamma_G": Quantity(c.gamma_G), "gamma_W": Quantity(c.gamma_W), "gamma_mis": Quantity(misfit_factor(c, every)), "w": quantity(w, "MPa")}


def at_anchor(context: Context) -> dict[str, Quantity]:
    """Symbols of the combination that governs the tension, and of the one that governs the shear."""
    every = table(context)
    N_c, V_c = np.asarray(context.value("anchors", "N_c")), np.asarray(context.value("anchors", "V_c"))
    pull, down = every[int(np.argmax(N_c))], every[int(np.argmax(V_c))]
    found = factors(context, pull, every, True)
    q = pull.gamma_W * found["w"].value + pull.gamma_G * quantity(context.number("w_G", "anchors"), "MPa").value
    share = max((context.number(k, "anchors") for k in ("share", "share_min")), key=lambda r: q * r)
    sideways = down.wind == "seismic" and context.value("anchors", "role") == "fixed"
    V_E = down.gamma_W * context.number("w_E_anchor", "anchors") * context.number("net_area", "anchors") if sideways else 0.0
    return {**found, "r": quantity(share, "mm2"), "gamma_V": Quantity(down.gamma_G), "V_E": quantity(V_E, "N")}


def in_plate(context: Context) -> dict[str, Quantity]:
    every = table(context)
    name = str(context.value("candidates", "m_combination"))
    return factors(context, next(c for c in every if c.name == name), every, False)


def together(context: Context, rule: Rule) -> tuple[str, dict[str, Quantity]]:
    """The formula of the interaction asked for, with tension and shear of the combination that governs it."""
    how = rule["settings"]["checks.interaction"]
    N_c, V_c = np.asarray(context.value("anchors", "N_c")), np.asarray(context.value("anchors", "V_c"))
    with np.errstate(divide="ignore", invalid="ignore"):
        u = interaction_of(N_c / context.number("N_Rd", "anchors"), V_c / context.number("V_Rd", "anchors"), how)
    i = int(np.argmax(np.nan_to_num(u)))
    return TOGETHER[how], {"N_c": quantity(N_c[i], "N"), "V_c": quantity(V_c[i], "N")}


def anchor_lines(context: Context) -> Iterator[Line]:
    N_c, V_c = np.asarray(context.value("anchors", "N_c")), np.asarray(context.value("anchors", "V_c"))
    for i, c in enumerate(table(context)):
        yield Line(c, {"N": quantity(N_c[i], "N"), "V": quantity(V_c[i], "N")}, i == int(np.argmax(N_c)))


def plate_lines(context: Context, rule: Rule) -> Iterator[Line]:
    """The moment of each combination, by the rule's own formula."""
    every = table(context)
    for c in every:
        lines = worked(statements(rule["formula"])[0], context.known(rule) | factors(context, c, every, False), context.units).lines
        m = next((result for left, *_, result in lines if left == "m_Ed"), Quantity(float("nan")))
        yield Line(c, {"m": Quantity(m.value, m.dims, True)}, c.name == str(context.value("candidates", "m_combination")))
