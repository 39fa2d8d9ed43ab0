"""Robustness: any one anchor ineffective, by setting [actions] robust (accidental situation, factors 1.0)."""

from __future__ import annotations

import numpy as np

from bimcheck.checks.plate import plate_stress
from bimcheck.core.columns import Column
from bimcheck.core.rule import check
from bimcheck.core.units import Array, MPa, N, count, flag, mm, mm2, ratio

_CLAUSE = "EN 1990 6.4.3.3 with partial factors 1.0; EN 1991-1-7 3.3 (from memory)"
_SETTINGS = {"robust": "actions.robust"}


@check("anchors", "u_lost_tension", "tension with one other anchor ineffective", demand="N_lost", limit="N_Rd_acc", clause=_CLAUSE, settings=_SETTINGS, symbols={"a": "hook_offset", "b": "heel"},
       formula="u = N_lost / N_Rd_acc; N_lost = (1 + a / b) (|w_serv_suction| share_lost + V_G e_G / y_lever + N_misfit); N_Rd_acc = N_Rd gamma_anchor; the weight of a lost hanging anchor goes to the other; 0 unless robust is set",
       extra=[Column("N_lost", "N", "tension with one other anchor ineffective"), Column("N_Rd_acc", "N", "resistance with factor 1.0")])
def lost_anchor_tension(
    w_serv_suction: MPa, share_lost: mm2, V_G: N, e_G: mm, y_lever: mm, N_misfit: N, hangs: flag, hook_offset: mm, heel: mm, N_Rd: N, gamma_anchor: ratio, *, robust: bool,
) -> tuple[Array, Array, Array]:
    """Every other anchor in turn; the greatest share of the rest."""
    nan = np.full(len(V_G), np.nan)
    if not robust:
        return np.zeros(len(V_G)), nan, nan
    with np.errstate(divide="ignore", invalid="ignore"):
        weight = np.where(hangs & (V_G > 0), V_G * e_G / y_lever, 0.0)
    N_lost = (np.abs(w_serv_suction) * np.maximum(share_lost, 0) + weight + N_misfit) * (1 + hook_offset / heel)
    return N_lost / (N_Rd * gamma_anchor), N_lost, N_Rd * gamma_anchor


@check("anchors", "u_lost_shear", "shear with the other hanging anchor ineffective", demand="V_lost", limit="V_Rd_acc", clause=_CLAUSE, settings=_SETTINGS,
       formula="u = V_lost / V_Rd_acc; V_lost = V_G; V_Rd_acc = V_Rd gamma_anchor; on the anchors that hang; 0 unless robust is set",
       extra=[Column("V_lost", "N", "shear with the other hanging anchor ineffective"), Column("V_Rd_acc", "N", "resistance with factor 1.0")])
def lost_anchor_shear(V_G: N, hangs: flag, V_Rd: N, gamma_anchor: ratio, *, robust: bool) -> tuple[Array, Array, Array]:
    """One of the two carries all the weight."""
    nan = np.full(len(V_G), np.nan)
    if not robust:
        return np.zeros(len(V_G)), nan, nan
    V_lost = np.where(hangs, V_G, 0.0)
    return np.where(V_lost > 0, V_lost / (V_Rd * gamma_anchor), 0.0), V_lost, V_Rd * gamma_anchor


@check("candidates", "u_lost_bending", "bending with one anchor ineffective", demand="sigma_lost", limit="f_acc", clause=_CLAUSE, settings=_SETTINGS,
       formula="u = sigma_lost / f_acc; sigma_lost = 6 (max(|w_serv_suction|, |w_serv_pressure|) m_support_lost + max(m_misfit_support, m_misfit_field)) / t_bending^2; "
               "f_acc = f_d gamma_flex; 0 unless robust is set",
       extra=[Column("sigma_lost", "MPa", "stress with one anchor ineffective"), Column("f_acc", "MPa", "strength with factor 1.0")])
def lost_anchor_bending(
    w_serv_suction: MPa, w_serv_pressure: MPa, m_support_lost: mm2, m_misfit_support: N, m_misfit_field: N, t_bending: mm, f_d: MPa, gamma_flex: ratio, *, robust: bool,
) -> tuple[Array, Array, Array]:
    """With the serviceability wind."""
    nan = np.full(len(t_bending), np.nan)
    if not robust:
        return np.zeros(len(t_bending)), nan, nan
    q = np.maximum(np.abs(w_serv_suction), np.abs(w_serv_pressure))
    sigma = plate_stress(q * m_support_lost + np.maximum(m_misfit_support, m_misfit_field), t_bending)
    return sigma / (f_d * gamma_flex), sigma, f_d * gamma_flex


@check("candidates", "u_second_support", "a second vertical support is there", demand="n_hang_layout", limit="n_hang_layout", clause=_CLAUSE, settings=_SETTINGS,
       formula="u = 0 where two anchors hang, inf where one does; 0 unless robust is set")
def second_support(n_hang_layout: count, *, robust: bool) -> Array:
    """Without a second vertical support a panel is not robust."""
    return np.where((n_hang_layout < 2) & robust, np.inf, 0.0)
