"""Figures in sentences."""

from __future__ import annotations


def percent(share: float, digits: int = 0, sign: bool = False) -> str:
    """'6.7 %'."""
    return f"{100 * share:{'+' if sign else ''}.{digits}f} %"


def p_text(p: float) -> str:
    """'p = 0.034', 'p < 0.001'."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}"
