"""Checks of joints, movement and hanging in."""

from __future__ import annotations

import numpy as np

from bimcheck.core.columns import Column
from bimcheck.core.rule import check, rule
from bimcheck.core.units import Array, count, mm, per_K, ratio


def thermal_movement(L: Array | float, alpha: Array | float, dT: Array | float) -> Array:
    """Free length change in mm: L alpha dT."""
    return np.asarray(L) * alpha * dT


def movement_of(L: Array, alpha_panel: Array, eps_moisture: Array, alpha_rail: float, dT_panel: float, dT_rail: float) -> Array:
    """L |alpha_p (T_p - T_0) - alpha_r (T_r - T_0)| + L eps_moisture, in mm."""
    return np.abs(thermal_movement(L, alpha_panel, dT_panel) - thermal_movement(L, alpha_rail, dT_rail)) + L * eps_moisture


@rule("panels", adds=[Column("strain", "1", "greatest movement of panel against rail over their length, hot or cold, with moisture"),
                      Column("movement", "mm", "greatest movement of the panel's edges against the rails")], section="movement", clause="statics",
      formula="movement = L strain; L = max(width, height); strain = max(|alpha_T - alpha_rail_per_K|, alpha_T) max(T_max_C - T_0_C, T_0_C - T_min_C) + eps_moisture")
def panel_movement(
    width: mm, height: mm, alpha_T: per_K, eps_moisture: ratio, *, T_0_C: float, T_max_C: float, T_min_C: float, alpha_rail_per_K: float,
) -> tuple[Array, Array]:
    """Over the greater side, panel and rail at the same temperature or the rail at T_0 (shaded)."""
    one = np.ones(len(width))
    cases = [movement_of(one, alpha_T, eps_moisture, alpha_rail_per_K, dT, dT_rail)
             for dT in (T_max_C - T_0_C, T_min_C - T_0_C) for dT_rail in (dT, 0.0)]
    strain = np.max(cases, axis=0)
    return strain, strain * np.maximum(width, height)


@check("panels", "u_joint", "joints take up the movement", demand="joint_required", limit="joint_least", section="movement", mandatory=False,
       clause="common practice, no source", formula="u = joint_required / joint_least; joint_required = movement + tolerance_mm + drift_mm; overlaps are issues of their own",
       extra=[Column("joint_required", "mm", "joint needed for movement, tolerance and drift"), Column("joint_least", "mm", "least joint of the panel")])
def joint_under_movement(
    movement: mm, joint_left: mm, joint_right: mm, joint_bottom: mm, joint_top: mm, *, tolerance_mm: float, drift_mm: float,
) -> tuple[Array, Array, Array]:
    """Panels without a neighbour have nothing to close."""
    least = np.fmin(np.fmin(joint_left, joint_right), np.fmin(joint_bottom, joint_top))
    required = movement + tolerance_mm + drift_mm
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.where(np.isnan(least), 0.0, np.where(least > 0, required / least, np.inf))
    return u, required, least


@check("anchors", "u_slot", "clips can slide with the movement", demand="slot_required", limit="slot_length", mandatory=False, section="movement",
       clause="common practice, no source",
       formula="u = slot_required / slot_length; slot_required = strain max(|x - x_fixed|, |y - y_fixed|) + tolerance_mm + drift_mm; "
               "0 at the fixed anchor and where the item states no slot",
       extra=[Column("slot_required", "mm", "way the clip must be free to slide either way: movement from the fixed anchor, tolerance and drift")])
def slots(strain: ratio, x: mm, y: mm, x_fixed: mm, y_fixed: mm, slot_length: mm, *, tolerance_mm: float, drift_mm: float) -> tuple[Array, Array]:
    """From the one fixed anchor: the sliding one along x, the free ones both ways."""
    if not np.any(slot_length > 0):
        return np.zeros(len(x)), np.full(len(x), np.nan)
    away = np.maximum(np.abs(x - x_fixed), np.abs(y - y_fixed))
    required = np.where(away > 0, strain * away + tolerance_mm + drift_mm, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(slot_length > 0, required / slot_length, 0.0), required


@check("candidates", "u_bearing", "two anchors carry the weight, one fixed and one sliding", demand="n_bearing", limit="n_hang_layout", clause="common practice, no source",
       formula="u = 0 where two anchors carry weight at different x, the rest being free; nan where not",
       extra=[Column("n_bearing", "count", "anchors that must carry the weight: one fixed, one sliding along u")])
def bearing_points(n_hang_layout: count, x_fixed: mm, x_sliding: mm) -> tuple[Array, Array]:
    """A panel on one bearing point swings, on three it is constrained: neither is what the forces are computed for."""
    sound = (n_hang_layout == 2) & (np.abs(x_fixed - x_sliding) > 0)
    return np.where(sound, 0.0, np.nan), np.full(len(x_fixed), 2)


@check("panels", "u_hang_in", "room to hang the panel in", demand="hang_in_room", limit="joint_top", mandatory=False, section="checks",
       settings={"tolerance_mm": "movement.tolerance_mm"}, clause="common practice, no source",
       formula="u = hang_in_room / joint_top; hang_in_room = hook_engagement_mm + lift_clearance_mm + tolerance_mm; 0 by default or without a panel above",
       extra=[Column("hang_in_room", "mm", "room needed above to lift the panel over its rail")])
def hang_in_room(joint_top: mm, *, hang_in: bool, hook_engagement_mm: float, lift_clearance_mm: float, tolerance_mm: float) -> tuple[Array, Array]:
    """Where panels are hung in from above."""
    need = hook_engagement_mm + lift_clearance_mm + tolerance_mm
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.where(np.isnan(joint_top) | (not hang_in), 0.0, np.where(joint_top > 0, need / joint_top, np.inf))
    return u, np.full(len(joint_top), need)


@check("panels", "u_engagement", "engagement left after movement", demand="engagement_required", limit="engagement_left", mandatory=False, section="checks",
       settings={"T_0_C": "movement.T_0_C", "T_max_C": "movement.T_max_C", "T_min_C": "movement.T_min_C"},
       clause="common practice, no source", 
       formula="u = engagement_required / engagement_left; engagement_left = hook_engagement_mm - height (alpha_T max(T_max_C - T_0_C, T_0_C - T_min_C) + eps_moisture); "
               "rails are fixed to the wall",
       extra=[Column("engagement_required", "mm", "least engagement"), Column("engagement_left", "mm", "engagement left after movement")])
def engagement(height: mm, alpha_T: per_K, eps_moisture: ratio, *, hook_engagement_mm: float, engagement_left_mm: float,
               T_0_C: float, T_max_C: float, T_min_C: float) -> tuple[Array, Array, Array]:
    """The hook must not leave its rail: the panel grows or shrinks over its height against rails that the wall holds."""
    left = hook_engagement_mm - thermal_movement(height, alpha_T, max(T_max_C - T_0_C, T_0_C - T_min_C)) - height * eps_moisture
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(left > 0, engagement_left_mm / left, np.inf), np.full(len(height), engagement_left_mm), left
