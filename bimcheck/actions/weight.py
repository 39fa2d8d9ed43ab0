"""Self-weight: its size, its direction in the panel's own axes, and how it reaches the anchors."""

from __future__ import annotations

import numpy as np

from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import G0, Array, N, flag, kg_m3, mm, mm2, ratio
from bimcheck.core.units import count as integer


def self_weight(area: Array, t: Array, density: Array) -> Array:
    """Weight in N of `area` mm2 at thickness `t` mm and `density` kg/m3: W = rho g A t (EN 1991-1-1, 5.1)."""
    return np.asarray(area) * t * np.asarray(density) * 1e-9 * G0


@rule("panels", adds=[Column("mass", "kg", "mass by net area and greatest thickness", file="mass_kg", file_unit="kg", measure="IfcMassMeasure"), Column("W", "N", "self-weight by net area and greatest thickness", file="weight_N", file_unit="N", measure="IfcForceMeasure")],
      clause="EN 1991-1-1 5.1", formula="W = rho g A t_max")
def weight(net_area: mm2, t_max: mm, density: kg_m3) -> tuple[Array, Array]:
    """Mass and weight of the panel."""
    W = self_weight(net_area, t_max, density)
    return W / G0, W


@rule("panels",
      adds=[Column("V_G", "N", "weight along the panel plane"),
            Column("w_G", "MPa", "weight along the outward normal as a pressure; above 0 pulls outward")],
      clause="statics", formula="V_G = W sqrt(1 - n_z^2); w_G = -W n_z / A")
def weight_in_panel_axes(W: N, net_area: mm2, normal_z: ratio) -> tuple[Array, Array]:
    """Gravity resolved in the panel's axes (slopes and soffits)."""
    return W * np.sqrt(np.clip(1 - normal_z**2, 0, 1)), -W * normal_z / net_area


@rule("panels", adds=[Column("e_G", "mm", "eccentricity of the weight to the load line of the clips")],
      clause="statics", formula="e = eccentricity_mm, else t_max / 2 + stand-off", section="actions")
def weight_eccentricity(t_max: mm, stand_off: mm, *, eccentricity_mm: float | None) -> Array:
    """Distance by which the panel hangs in front of its clips."""
    return t_max / 2 + stand_off if eccentricity_mm is None else np.full(len(t_max), eccentricity_mm)


def upper_anchor_tension(V: Array, e: Array, h_v: Array, n_upper: Array) -> Array:
    """Pull in N on each upper anchor by the eccentric weight: N = V e / (n h_v) (moment about the lower row)."""
    return np.asarray(V) * e / (np.asarray(n_upper) * h_v)


@rule("anchors",
      adds=[Column("N_G", "N", "pull on a hanging anchor by the eccentric weight, characteristic"),
            Column("V_Gk", "N", "weight carried by the anchor, characteristic")],
      clause="statics", formula="N_G = V_G e / (n_hang h_v); V_Gk = V_G / n_hang; never more than two anchors hang")
def weight_on_anchors(V_G: N, e_G: mm, hangs: flag, n_hang: integer, y_lever: mm) -> tuple[Array, Array]:
    """Weight and its couple on the hanging anchors; the push on the lower row relieves nothing here."""
    per_anchor = np.where(hangs, 1.0 / np.maximum(n_hang, 1), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        pull = np.where(hangs, upper_anchor_tension(V_G, e_G, y_lever, np.maximum(n_hang, 1)), 0.0)
    return np.where(V_G > 0, pull, 0.0), V_G * per_anchor


@rule("candidates", adds=[Column("m_clip", "N", "local plate moment at the clip's edge by the eccentric weight, characteristic")],
      clause="plate theory: couple M0 on a plate, (1 + nu) M0 / (4 pi r)", formula="m = (1 + nu) M0 / (4 pi r), M0 = V_G e / n_hang, r = clip contact / 2")
def clip_moment(V_G: N, e_G: mm, nu: ratio, clip_contact: mm, n_hang_layout: integer) -> Array:
    """Added to the anchor moment where the weight hangs."""
    return (1 + nu) * V_G * e_G / np.maximum(n_hang_layout, 1) / (4 * np.pi * clip_contact / 2)


