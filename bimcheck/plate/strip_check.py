"""Strips of plate as cross-checks, printed beside the plate's own result and never used instead of it.

A strip of unit width on two supports at the inset c from either end, under the pressure q (beam statics).
"""

from __future__ import annotations

import math

# Inset over length at which support and midspan moments are equal: q c^2 / 2 = q (L - 2c)^2 / 8 - q c^2 / 2.
EQUAL_MOMENTS = (math.sqrt(2) - 1) / 2


def support_moment(q: float, c: float) -> float:
    """Average moment per width over the supports, N mm/mm: -q c^2 / 2 (statics of the overhang)."""
    return -q * c * c / 2


def midspan_moment(q: float, L: float, c: float) -> float:
    """Average moment per width at midspan: q (L - 2 c)^2 / 8 - q c^2 / 2 (statics)."""
    return q * (L - 2 * c) ** 2 / 8 - q * c * c / 2


def tributary_force(q: float, area: float, n: int) -> float:
    """Force on each of n symmetric anchors, N: q A / n; exact by symmetry for four at equal insets."""
    return q * area / n
