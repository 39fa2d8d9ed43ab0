"""The earthquake on a panel in full: the standard's formula with what it looks up."""

from __future__ import annotations

from bimcheck.actions.seismic import a_p_R_p
from bimcheck.explain.context import Context, Rule
from bimcheck.explain.quantity import Quantity, quantity

EN = "w_E = F_a / A; F_a = S_a W gamma_a / q_a; S_a = max(alpha S (3 (1 + z / H) / (1 + (1 - Ta_over_T1)^2) - 0.5), alpha S); w_E_anchor = w_E; z from 0 to H"
ASCE = ("w_E = min(max(F_p, 0.3 S_DS I_p W), 1.6 S_DS I_p W) / A; F_p = 0.4 a_p S_DS W (1 + 2 z / H) / (R_p / I_p); "
        "w_E_anchor = min(max(F_f, 0.3 S_DS I_p W), 1.6 S_DS I_p W) / A; F_f = 0.4 a_f S_DS W (1 + 2 z / H) / (R_f / I_p); "
        "a_p, R_p of the panel and a_f, R_f of its anchors from Table 13.5-1; z from 0 to H")


def form(context: Context, rule: Rule) -> tuple[str, dict[str, Quantity]]:
    """Formula and symbols for the standard asked for."""
    H = context.number("h_building")
    z = min(max(context.number("z"), 0.0), H)
    known = {"A": quantity(context.number("net_area"), "mm2"), "z": quantity(z, "mm"), "H": quantity(H, "mm")}
    standard = rule["settings"]["seismic.standard"]
    if standard == "en1998-1":
        return EN, known
    if standard == "asce7-16":
        (a_p, R_p), (a_f, R_f) = (a_p_R_p(rule["settings"][f"seismic.{k}"]) for k in ("component", "component_anchor"))
        return ASCE, {**known, "a_p": Quantity(a_p), "R_p": Quantity(R_p), "a_f": Quantity(a_f), "R_f": Quantity(R_f)}
    return rule["formula"], {}
