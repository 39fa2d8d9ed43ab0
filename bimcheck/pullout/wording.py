"""Figures in sentences."""

from __future__ import annotations

from collections.abc import Sequence


def percent(share: float, digits: int = 0, sign: bool = False) -> str:
    """'6.7 %'."""
    return f"{100 * share:{'+' if sign else ''}.{digits}f} %"


def p_text(p: float) -> str:
    """'p = 0.034', 'p < 0.001'."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}"


def listed(names: Sequence[str], most: int = 12) -> str:
    """'grey, red, black'; beyond `most` 'and 188 more'."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
