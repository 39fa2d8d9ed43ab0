"""Flexural rigidity of a plate."""

from __future__ import annotations

from bimcheck.core.units import MPa, mm, ratio


def flexural_rigidity(E: MPa | float, t: mm | float, nu: ratio | float) -> MPa | float:
    """D = E t^3 / 12 (1 - nu^2) in N mm, from E in MPa and t in mm (thin-plate theory, Kirchhoff)."""
    return E * t**3 / (12 * (1 - nu**2))
