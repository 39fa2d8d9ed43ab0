"""Checks of the anchor in its panel, of its bolt and of its place."""

from __future__ import annotations

import numpy as np

from bimcheck.core.columns import Column
from bimcheck.core.rule import check
from bimcheck.core.units import Array, MPa, N, mm, mm2, mm3

_POWER = {"linear": 1.0, "1.2": 1.0, "power-1.5": 1.5, "power-2": 2.0}


def interaction_of(beta_N: Array | float, beta_V: Array | float, rule: str) -> Array:
    """Utilisation of tension and shear together; beta = demand over resistance.

    linear: sum <= 1.  "1.2": sum / 1.2, each <= 1.  power-1.5, power-2: sum of powers <= 1 (EN 1992-4 7.2.3 uses 1.5
    for concrete modes, 2 for steel).
    """
    N_, V_ = np.asarray(beta_N, dtype=float), np.asarray(beta_V, dtype=float)
    if rule == "1.2":
        return np.maximum(np.maximum(N_, V_), (N_ + V_) / 1.2)
    p = _POWER[rule]
    return N_**p + V_**p


@check("anchors", "u_tension", "anchor in tension", demand="N_Ed", limit="N_Rd", clause="EN 1990 6.4.2; project tests", formula="u = N_Ed / N_Rd")
def tension(N_Ed: N, N_Rd: N) -> Array:
    """Breakout, pull-out or whatever governed the test."""
    return N_Ed / N_Rd


@check("anchors", "u_shear", "anchor in shear", demand="V_Ed", limit="V_Rd", clause="EN 1990 6.4.2; project tests", formula="u = V_Ed / V_Rd; 0 where nothing hangs")
def shear(V_Ed: N, V_Rd: N) -> Array:
    """Weight in the panel plane."""
    return np.where(V_Ed == 0, 0.0, V_Ed / V_Rd)


@check("anchors", "u_interaction", "tension with shear", demand="N_Ed", limit="N_Rd", clause="common practice, linear; EN 1992-4 7.2.3 for powers", section="checks",
       formula="u = N_c / N_Rd + V_c / V_Rd; the greatest over the combinations; by setting (sum) / 1.2 with each <= 1, or powers 1.5 or 2")
def together(N_c: N, V_c: N, N_Ed: N, N_Rd: N, V_Rd: N, *, interaction: str) -> Array:
    """Combination by combination."""
    with np.errstate(divide="ignore", invalid="ignore"):
        beta_V = np.where(V_c == 0, 0.0, V_c / V_Rd[:, None])
        return interaction_of(N_c / N_Rd[:, None], beta_V, interaction).max(axis=1, initial=0.0)


@check("anchors", "u_bolt", "bolt under tension and stand-off bending", demand="sigma_bolt", limit="bolt_strength", clause="statics; EN 1993-1-1 6.2.9 elastic",
       formula="u = sigma_bolt / bolt_strength; sigma_bolt = N_Ed / A_bolt + V_Ed stand_off / W_bolt", extra=[Column("sigma_bolt", "MPa", "stress in the bolt")])
def bolt(N_Ed: N, V_Ed: N, stand_off: mm, W_bolt: mm3, A_bolt: mm2, bolt_strength: MPa) -> tuple[Array, Array]:
    """Elastic, at the stress diameter."""
    sigma = N_Ed / A_bolt + V_Ed * stand_off / W_bolt
    return sigma / bolt_strength, sigma


@check("anchors", "u_edge", "edge distance to outline and cut-outs", demand="edge_required", limit="edge", clause="project tests, item",
       formula="u = edge_required / edge; edge_required = max(edge_min_item, edge_tested)", extra=[Column("edge_required", "mm", "required edge distance")])
def edge_distance(edge: mm, edge_min_item: mm, edge_tested: mm) -> tuple[Array, Array]:
    """At or above the smallest tested."""
    required = np.fmax(edge_min_item, edge_tested)
    return _ratio(required, edge), required


@check("anchors", "u_spacing", "spacing of anchors", demand="spacing_required", limit="spacing", clause="project tests, item",
       formula="u = spacing_required / spacing; spacing_required = max(spacing_min_item, spacing_tested)", extra=[Column("spacing_required", "mm", "required spacing")])
def anchor_spacing(spacing: mm, spacing_min_item: mm, spacing_tested: mm) -> tuple[Array, Array]:
    """At or above the smallest tested."""
    required = np.fmax(spacing_min_item, spacing_tested)
    return _ratio(required, spacing), required


def _ratio(required: Array, have: Array) -> Array:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(have > 0, required / have, np.inf)
