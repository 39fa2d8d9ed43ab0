"""Self-weight: its size, its direction in the panel's own axes, and how it reaches the anchors."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.tables import Ragged
from bimcheck.core.units import G0, Array, N, flag, kg_m3, mm, mm2, ragged, ratio

ABOVE = 1.0  # mm by which an anchor is above the row that hangs


def self_weight(area: Array, t: Array, density: Array) -> Array:
    """Weight in N of `area` mm2 at thickness `t` mm and `density` kg/m3: W = rho g A t (EN 1991-1-1, 5.1)."""
    return np.asarray(area) * t * np.asarray(density) * 1e-9 * G0


@rule("panels", adds=[Column("mass", "kg", "mass by net area and greatest thickness", file="mass_kg", file_unit="kg", measure="IfcMassMeasure"), Column("W", "N", "self-weight by net area and greatest thickness", file="weight_N", file_unit="N", measure="IfcForceMeasure")],
      clause="EN 1991-1-1 5.1", formula="W = rho g A t_max; mass = rho A t_max", symbols={"rho": "density", "A": "net_area", "g": "9.80665 m/s2"})
def weight(net_area: mm2, t_max: mm, density: kg_m3) -> tuple[Array, Array]:
    """Mass and weight of the panel."""
    W = self_weight(net_area, t_max, density)
    return W / G0, W


@rule("panels", adds=[Column("x_G", "mm", "centre of gravity along u, from the lower-left corner seen from outside"),
                      Column("y_G", "mm", "centre of gravity along v")],
      clause="statics", formula="x_G = S_y / A, y_G = S_x / A over the outline less its cut-outs")
def centre_of_gravity(outline: ragged) -> tuple[Array, Array]:
    """Centroid of the front face: whole thickness, so that of the weight."""
    rings = np.cumsum(_starts(outline)) - 1
    x, y = outline.values[:, 0], outline.values[:, 1]
    ahead = _following(_starts(outline))
    cross = x * y[ahead] - x[ahead] * y
    n, panel = len(outline), outline.rows
    area = np.bincount(rings, cross / 2)
    sign = np.where(outline.values[_starts(outline), 2] == 0, np.sign(area), -np.sign(area))[rings]  # a cut-out takes away, however it runs
    with np.errstate(divide="ignore", invalid="ignore"):
        whole = np.bincount(panel, sign * cross / 2, minlength=n)
        moments = [np.bincount(panel, sign * cross * (v + v[ahead]) / 6, minlength=n) for v in (x, y)]
        return moments[0] / whole, moments[1] / whole


def _starts(outline: Ragged) -> NDArray[np.bool_]:
    """(m,) True where a ring begins."""
    row, ring = outline.rows, outline.values[:, 2]
    return np.r_[True, (np.diff(row) != 0) | (np.diff(ring) != 0)][: len(row)]


def _following(starts: NDArray[np.bool_]) -> NDArray[np.int64]:
    """(m,) next point of the same ring, the first after the last."""
    ahead = np.arange(1, len(starts) + 1)
    first = np.flatnonzero(starts)
    ahead[np.r_[first[1:], len(starts)][: len(first)] - 1] = first
    return ahead


@rule("panels",
      adds=[Column("V_G", "N", "weight along the panel plane"),
            Column("w_G", "MPa", "weight along the outward normal as a pressure; above 0 pulls outward")],
      clause="statics", formula="V_G = W sqrt(1 - n_z^2); w_G = -W n_z / A", symbols={"n_z": "normal_z", "A": "net_area"})
def weight_in_panel_axes(W: N, net_area: mm2, normal_z: ratio) -> tuple[Array, Array]:
    """Gravity resolved in the panel's axes (slopes and soffits)."""
    return W * np.sqrt(np.clip(1 - normal_z**2, 0, 1)), -W * normal_z / net_area


@rule("panels", adds=[Column("e_G", "mm", "eccentricity of the weight to the load line of the clips")],
      clause="statics", formula="e_G = t_max / 2 + stand_off; eccentricity_mm where it is given", section="actions")
def weight_eccentricity(t_max: mm, stand_off: mm, *, eccentricity_mm: float | None) -> Array:
    """Distance by which the panel hangs in front of its clips."""
    return t_max / 2 + stand_off if eccentricity_mm is None else np.full(len(t_max), eccentricity_mm)


def weight_share(x: Array, x_other: Array, x_G: Array) -> Array:
    """Share of the weight on one of two anchors at x and x_other: |x_G - x_other| / |x - x_other| (moment about the other);
    above 1 where the centre of gravity lies beyond both, 1 where there is no other."""
    span = np.abs(np.asarray(x) - x_other)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(span > 0, np.abs(np.asarray(x_G) - x_other) / span, 1.0)


def upper_anchor_tension(V: Array, e: Array, h_v: Array, n_upper: Array) -> Array:
    """Pull in N on each upper anchor by the eccentric weight: N = V e / (n h_v) (moment about the lower row)."""
    return np.asarray(V) * e / (np.asarray(n_upper) * h_v)


@rule("anchors",
      adds=[Column("N_G", "N", "pull on a hanging anchor by the eccentric weight, characteristic"),
            Column("V_Gk", "N", "weight carried by the anchor, characteristic")],
      clause="statics", formula="V_Gk = V_G |x_G - x_other| / |x - x_other|; x_other = x_fixed + x_sliding - x; N_G = V_Gk e_G / h_v; "
              "0 on anchors that do not hang, but N_G of all the weight on those above", symbols={"h_v": "y_lever"})
def weight_on_anchors(V_G: N, e_G: mm, hangs: flag, x: mm, y: mm, x_fixed: mm, y_fixed: mm, x_sliding: mm, x_G: mm, y_lever: mm) -> tuple[Array, Array]:
    """Weight and its couple on the hanging anchors, never more than two; the push on the lower row relieves nothing here."""
    share = np.where(hangs, weight_share(x, x_fixed + x_sliding - x, x_G), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(y > y_fixed + ABOVE, 1.0, share)
        pull = np.where((part > 0) & (V_G > 0), upper_anchor_tension(V_G * part, e_G, y_lever, np.ones(len(x))), 0.0)
    return pull, V_G * share


@rule("candidates", adds=[Column("m_hook", "mm2", "local plate moment per unit pressure at the clip's edge where the hook pulls beside the bolt")],
      clause="plate theory: couple M0 on a plate, (1 + nu) M0 / (4 pi r)", formula="m_hook = (1 + nu) a share_most / (4 pi r); r = clip_contact / 2; 0 where the hook pulls on the bolt's axis",
      symbols={"a": "hook_offset"})
def hook_moment(share_most: mm2, hook_offset: mm, nu: ratio, clip_contact: mm) -> Array:
    """Bolt and heel hold the hook's force by a couple F a on the panel."""
    return (1 + nu) * hook_offset * share_most / (4 * np.pi * clip_contact / 2)


@rule("candidates", adds=[Column("m_clip", "N", "local plate moment at the clip's edge by the eccentric weight, characteristic")],
      clause="plate theory: couple M0 on a plate, (1 + nu) M0 / (4 pi r)",
      formula="m_clip = (1 + nu) M_0 / (4 pi r); M_0 = V_1 e; V_1 = V_G max(|x_G - x_sliding|, |x_G - x_fixed|) / |x_fixed - x_sliding|; r = clip_contact / 2", symbols={"e": "e_G"})
def clip_moment(V_G: N, e_G: mm, nu: ratio, clip_contact: mm, x_fixed: mm, x_sliding: mm, x_G: mm) -> Array:
    """At the hanging anchor that carries more, added to the greatest anchor moment."""
    share = np.maximum(weight_share(x_fixed, x_sliding, x_G), weight_share(x_sliding, x_fixed, x_G))
    return (1 + nu) * V_G * share * e_G / (4 * np.pi * clip_contact / 2)
