"""Flexural strength from breaking load and specimen size, each by its test standard.

Loads in N, lengths in mm, strengths in MPa; scalars or arrays.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


def three_point(F: Any, l: Any, b: Any, h: Any) -> Any:  # noqa: E741 - the standard's symbol
    """R = 3 F l / (2 b h^2), load at midspan.  EN 12372, EN 14617-2, ISO 10545-4, EN 12467 (modulus of rupture)."""
    return 3 * F * l / (2 * b * h**2)


def third_point(F: Any, l: Any, b: Any, h: Any) -> Any:  # noqa: E741 - the standard's symbol
    """R = F l / (b h^2), loads at the third points.  EN 13161."""
    return F * l / (b * h**2)


def quarter_point(W: Any, L: Any, b: Any, d: Any) -> Any:
    """sigma = 3 W L / (4 b d^2), loads at the quarter points.  ASTM C880."""
    return 3 * W * L / (4 * b * d**2)


def breaking_strength(F: Any, L: Any, b: Any) -> Any:
    """S = F L / b in N: the load that a tile bears whatever its thickness.  ISO 10545-4."""
    return F * L / b


@dataclass(frozen=True)
class FlexuralTest:
    """A test standard: where the load stands and the formula that goes with it."""

    standard: str
    loading: str
    strength: Callable[[Any, Any, Any, Any], Any]


TESTS: dict[str, FlexuralTest] = {
    test.standard: test
    for test in (
        FlexuralTest("EN 12372", "load at midspan", three_point),
        FlexuralTest("EN 13161", "loads at the third points", third_point),
        FlexuralTest("EN 14617-2", "load at midspan", three_point),
        FlexuralTest("EN 12467", "load at midspan", three_point),
        FlexuralTest("ISO 10545-4", "load at midspan", three_point),
        FlexuralTest("ASTM C880", "loads at the quarter points", quarter_point),
    )
}
