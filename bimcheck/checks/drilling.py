"""Checks of thickness, hole and hardware."""

from __future__ import annotations

import numpy as np

from bimcheck.core.columns import Column
from bimcheck.core.rule import check
from bimcheck.core.units import Array, count, mm, text


@check("panels", "u_hardware", "a catalogue item fits", clause="project data", demand="hardware_reason", limit="item", formula="u = 0 where an item fits; nan where none does")
def hardware_fits(hardware_reason: text) -> Array:
    """Without an item nothing can be proven: not_checked with the reason, never a pass."""
    return np.where(np.asarray(hardware_reason, dtype=object) == "", 0.0, np.nan)


@check("panels", "u_residual", "material left in front of the hole", demand="residual_required", limit="residual", clause="project data, item",
       formula="u = residual_required / residual; residual = t_min - counterbore - hole_depth - undercut_tolerance_mm", section="drilling",
       extra=[Column("residual", "mm", "material left in front of the hole, tolerances at their limits", file="residual_mm", file_unit="mm")])
def residual_thickness(t_min: mm, counterbore: mm, hole_depth: mm, residual_required: mm, *, undercut_tolerance_mm: float = 0.0) -> tuple[Array, Array]:
    """With the least thickness and the deepest hole."""
    left = t_min - counterbore - hole_depth - undercut_tolerance_mm
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(left > 0, residual_required / left, np.where(np.isnan(left), np.nan, np.inf)), left


@check("panels", "u_tests", "tests cover thickness and embedment", demand="embedment", limit="t_bending", clause="project tests: the lower tested value",
       formula="u = 0 where a tested combination is reached; nan where none is")
def tests_cover(test_group: count, embedment: mm, t_bending: mm) -> Array:
    """Nothing is read beyond the tests."""
    return np.where(test_group >= 0, 0.0, np.nan)


@check("panels", "u_cavity", "ventilation cavity", demand="cavity_required", limit="cavity", clause="DIN 18516-1 4.2 as seen in public text", mandatory=False, section="checks",
       formula="u = cavity_required / cavity; nothing to check where the build-up is not stated",
       extra=[Column("cavity_required", "mm", "least cavity"), Column("cavity", "mm", "cavity of the build-up")])
def cavity(thickness: mm, *, cavity_mm: float, cavity_known_mm: float | None) -> tuple[Array, Array, Array]:
    """By declared build-up; locally 5 mm are accepted beside brackets (same clause)."""
    n = len(thickness)
    known = np.full(n, np.nan if cavity_known_mm is None else cavity_known_mm)
    return (np.zeros(n) if cavity_known_mm is None else cavity_mm / np.maximum(known, 1e-9)), np.full(n, cavity_mm), known
