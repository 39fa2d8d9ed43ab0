"""Deflections between anchors and of overhangs, against beams."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.plate.points import solve, solve_many
from bimcheck.plate.shape import build
from tests.plate.shapes import FOUR, PANEL, box, grid

STRIP = [box(0, 0, 1200, 100)]  # nu 0: a beam


def test_a_narrow_strip_is_a_beam_between_its_supports() -> None:
    """Supports at the ends: midspan w = 5 q L^4 / 384 D, against the span (simple beam)."""
    length = 1200.0
    solved = solve(build(STRIP, 0.0), grid([0, length], [25, 75]))
    assert solved.w_max[0] == pytest.approx(5 * length**4 / 384, rel=0.01)
    assert solved.slope[0] == pytest.approx(5 * length**3 / 384, rel=0.01)
    assert solved.slope_length[0] == pytest.approx(length, rel=0.002)


@pytest.mark.parametrize("c", [150.0, 400.0])
def test_an_overhang_counts_on_twice_its_length(c: float) -> None:
    """Tip w = q c (3 c^3 + 6 c^2 l - l^3) / 24 D, l = L - 2c: up for short overhangs, down for long ones (beam with two
    equal overhangs)."""
    length = 1200.0
    span = length - 2 * c
    solved = solve(build(STRIP, 0.0), grid([c, length - c], [25, 75]))
    tip = abs(c * (3 * c**3 + 6 * c**2 * span - span**3) / 24)
    middle = (5 * span**4 - 24 * span**2 * c**2) / 384
    assert solved.w_max[0] == pytest.approx(max(tip, abs(middle)), rel=0.01)
    assert solved.slope[0] == pytest.approx(tip / (2 * c), rel=0.01)
    assert solved.slope_length[0] == pytest.approx(2 * c, rel=0.01)


def test_springs_that_yield_alike_bend_nothing_more() -> None:
    """Four symmetric anchors on equal springs move together: the relative deflection is the rigid one."""
    plate = build(PANEL, 0.2)
    both = solve_many(plate, [FOUR, FOUR], spring=[np.inf, 1e-5])
    assert both.slope[1] == pytest.approx(both.slope[0], rel=1e-6)
    assert both.w_max[1] > 1.5 * both.w_max[0]


def test_the_largest_deflection_is_that_at_the_centre_of_a_square_on_four_points() -> None:
    """Corner supports, nu 0.3: 0.025507 q a^4 / D (Ritz with Legendre polynomials, converged)."""
    solved = solve(build([box(0, 0, 1, 1)], 0.3), grid([0, 1], [0, 1]))
    assert solved.w_max[0] == pytest.approx(0.025507, rel=0.003)
    assert solved.slope[0] == pytest.approx(0.025507 / np.sqrt(2), rel=0.02)
    assert solved.slope_length[0] == pytest.approx(np.sqrt(2))
