"""Design forces on anchors and design moments of the plate, a column a combination."""

from __future__ import annotations

import numpy as np

from bimcheck.actions.combinations import Combination, combinations
from bimcheck.actions.misfit import misfit_factor, misfit_in_plate, misfit_on_anchors
from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, MPa, N, mm, mm2, ratio, text

# The rules that a project file calls "forces": misfit comes with them.
__all__ = ["anchor_forces", "clip_tension", "misfit_in_plate", "misfit_on_anchors", "outward_pressure", "plate_moment"]

_SEISMIC = {"seismic_standard": "seismic.standard"}


def _list(format: str, w_basis: Array, seismic: str) -> tuple[Combination, ...]:
    basis = str(w_basis[0]) if len(w_basis) else ""
    return combinations(format, basis, seismic not in ("none", ""))


def outward_pressure(c: Combination, w_suction: Array, w_pressure: Array, w_E: Array, w_G: Array) -> Array:
    """Design pressure in MPa of one combination, above 0 where it pulls outward.

    w_suction <= 0, w_pressure >= 0 (net wind); w_E earthquake either way; w_G weight along the outward normal.
    """
    wind = {"suction": -w_suction, "pressure": -w_pressure, "seismic": w_E, "none": np.zeros_like(w_G)}[c.wind]
    return c.gamma_W * wind + c.gamma_G * w_G


def clip_tension(F: Array, hook_offset: Array, heel: Array) -> Array:
    """Tension in the bolt for the force F on the hook: N = F (1 + a / b) (moment about the heel)."""
    return np.asarray(F) * (1 + np.asarray(hook_offset) / heel)


@rule("anchors",
      adds=[Column("N_c", "N", "tension in the anchor, one column a combination"),
            Column("V_c", "N", "shear in the anchor, one column a combination: weight, and with an earthquake the fixed anchor holds all of it along u"),
            Column("N_Ed", "N", "greatest design tension", file="tension_N", file_unit="N", measure="IfcForceMeasure"),
            Column("V_Ed", "N", "greatest design shear", file="shear_N", file_unit="N", measure="IfcForceMeasure"),
            Column("combination", "text", "combination of the greatest tension", file="combination", file_unit="text")],
      clause="EN 1990 6.4.3.2; ASCE 7-16 2.3, 2.4", section="actions", settings={**_SEISMIC, "format": "actions.format"},
      formula="N_Ed = (1 + a / b) (max(q_d r, 0) + gamma_G N_G + gamma_mis N_misfit); q_d = gamma_W w + gamma_G w_G; "
              "V_Ed = sqrt((gamma_V V_Gk)^2 + V_E^2); w outward, r the reaction per unit pressure, gamma_mis the greatest gamma_G beside the "
              "same wind, V_E = w_E_anchor A on the fixed anchor", symbols={"a": "hook_offset", "b": "heel"})
def anchor_forces(
    w_anchor_suction: MPa, w_anchor_pressure: MPa, w_E_anchor: MPa, w_G: MPa, w_basis: text, share: mm2, share_min: mm2,
    N_G: N, V_Gk: N, N_misfit: N, hook_offset: mm, heel: mm, net_area: mm2, role: text, *, format: str, seismic_standard: str,
) -> tuple[Array, Array, Array, Array, Array]:
    """Envelope of rigid and elastic supports; a reaction that changes sign pulls under pressure."""
    table = _list(format, w_basis, seismic_standard)
    N_c = np.empty((len(share), len(table)))
    V_c = np.empty_like(N_c)
    for i, c in enumerate(table):
        q = outward_pressure(c, w_anchor_suction, w_anchor_pressure, w_E_anchor, w_G)
        F = np.maximum(np.maximum(q * share, q * share_min), 0.0) + c.gamma_G * N_G + misfit_factor(c, table) * N_misfit
        N_c[:, i] = clip_tension(F, hook_offset, heel)
        V_c[:, i] = c.gamma_G * V_Gk
        if c.wind == "seismic":
            V_c[:, i] = np.hypot(V_c[:, i], np.where(role == "fixed", c.gamma_W * w_E_anchor * net_area, 0.0))
    worst = np.argmax(N_c, axis=1) if len(N_c) else np.zeros(0, dtype=int)
    names = np.array([c.name for c in table], dtype=object)
    return N_c, V_c, N_c.max(axis=1, initial=0.0), V_c.max(axis=1, initial=0.0), names[worst]


@rule("candidates",
      adds=[Column("m_Ed", "N", "greatest design moment per width at anchor or in the field"),
            Column("m_combination", "text", "combination of the greatest moment"),
            Column("m_place", "text", "where it stands: anchor, field or corner (re-entrant)"),
            Column("m_corner_Ed", "N", "greatest design moment per width at re-entrant corners; 0 where there are none")],
      clause="EN 1990 6.4.3.2; ASCE 7-16 2.3, 2.4", section="actions", settings={**_SEISMIC, "format": "actions.format"},
      formula="m_Ed = max(k_hole (q_d m_support + gamma_mis m_misfit_support) + q_d m_hook + gamma_G m_clip, q_d m_field + gamma_mis m_misfit_field); "
              "q_d = |gamma_W w + gamma_G w_G|")
def plate_moment(
    w_suction: MPa, w_pressure: MPa, w_E: MPa, w_G: MPa, w_basis: text, m_support: mm2, m_field: mm2, m_corner: mm2, m_hook: mm2, m_clip: N,
    m_misfit_support: N, m_misfit_field: N, k_hole: ratio, *, format: str, seismic_standard: str,
) -> tuple[Array, Array, Array, Array]:
    """Design moment of the plate; the weight's local moment adds at the anchor.  m_field holds m_corner."""
    table = _list(format, w_basis, seismic_standard)
    anchor = np.empty((len(m_support), len(table)))
    field, corner = np.empty_like(anchor), np.empty_like(anchor)
    for i, c in enumerate(table):
        q = np.abs(outward_pressure(c, w_suction, w_pressure, w_E, w_G))
        gamma = misfit_factor(c, table)
        anchor[:, i] = k_hole * (q * m_support + gamma * m_misfit_support) + q * m_hook + c.gamma_G * m_clip
        field[:, i] = q * m_field + gamma * m_misfit_field
        corner[:, i] = np.where(m_corner > 0, q * m_corner + gamma * m_misfit_field, m_corner)
    both = np.maximum(anchor, field)
    worst = np.argmax(both, axis=1) if len(both) else np.zeros(0, dtype=int)
    pick = (np.arange(len(both)), worst)
    names = np.array([c.name for c in table], dtype=object)
    within = np.where(corner[pick] >= field[pick], "corner", "field")
    place = np.where(anchor[pick] >= field[pick], "anchor", within).astype(object)
    return both[pick], names[worst], place, corner.max(axis=1, initial=0.0)
