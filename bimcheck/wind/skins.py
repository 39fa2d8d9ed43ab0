"""What acts on the rear of a panel: cavity, internal pressure, and the two-skin rules of EN 1991-1-4:2005 7.2.9, 7.2.10."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bimcheck.core.errors import InputError
from bimcheck.core.units import Array

CPI_OVER, CPI_UNDER = 0.2, -0.3  # 7.2.9(6) Note 2: the more onerous of the two (from memory)
TWO_SKIN_PRESSURE, TWO_SKIN_SUCTION = 2 / 3, 1 / 3  # 7.2.10(3), recommended values (from memory)
MU_AIRTIGHT = 0.001  # 7.2.10(2): a skin with a permeability below 0.1 % is airtight (from memory)
GAP_MAX = 100.0  # mm, 7.2.10(3): the rules hold below it (from memory)


def dominant_factor(area_ratio: float) -> float:
    """c_pi / c_pe at the openings of a dominant face: 0.75 at twice, 0.90 at three times the other openings (7.2.9(5))."""
    if area_ratio < 2:
        raise InputError(f"openings of {area_ratio:g} times the rest are no dominant face", "[wind] dominant_opening_ratio",
                         "give 2 or more, or 0 for none")
    return float(np.interp(area_ratio, (2.0, 3.0), (0.75, 0.90)))


def internal_range(dominant_ratio: float, most: float, least: float) -> tuple[float, float]:
    """Greatest and least c_pi; most, least: the external coefficients a dominant face may have (its side is unknown)."""
    if not dominant_ratio:
        return CPI_OVER, CPI_UNDER
    factor = dominant_factor(dominant_ratio)
    return factor * most, factor * least


def net_coefficient(c_pe: ArrayLike, rear: ArrayLike, k_suction: ArrayLike, k_pressure: ArrayLike) -> Array:
    """c_p,net = k (c_pe - c_p,rear), k by the sign of c_pe; both factors are 1 unless the two-skin rules are used."""
    c_pe = np.asarray(c_pe, dtype=float)
    return np.where(c_pe < 0, k_suction, k_pressure) * (c_pe - np.asarray(rear))


def two_skin_factors(asked: bool, gap_mm: float, ends_closed: bool, inner_mu: float) -> tuple[float, float]:
    """Factors on suction and pressure; 1, 1 unless asked for.

    Raises InputError naming the condition of 7.2.10 that the declared data do not meet.
    """
    if not asked:
        return 1.0, 1.0
    unmet = [text for met, text in (
        (0 < gap_mm < GAP_MAX, f"a declared gap below {GAP_MAX:g} mm (cavity_gap_mm = {gap_mm:g})"),
        (ends_closed, "a cavity closed at the ends (closers = \"closed\")"),
        (0 <= inner_mu < MU_AIRTIGHT, f"an inner skin with a permeability below {MU_AIRTIGHT:g} (inner_permeability = {inner_mu:g})"),
    ) if not met]
    if unmet:
        raise InputError("the two-skin rules need " + " and ".join(unmet), "[wind] two_skin, EN 1991-1-4 7.2.10",
                         "declare them, or leave two_skin off")
    return TWO_SKIN_SUCTION, TWO_SKIN_PRESSURE
