"""The table that ranks grids, against the plate engine; own seeds, positions between the table's nodes."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.layout.estimate import estimate
from bimcheck.layout.patterns import grid
from bimcheck.plate.points import solve_many
from bimcheck.plate.shape import build


@pytest.mark.parametrize("pattern", [(2, 2), (3, 2), (2, 3), (3, 3), (4, 2), (2, 4), (4, 3)], ids=str)
def test_estimates_are_near_the_engine(pattern: tuple[int, int]) -> None:
    """Median error of moments under 0.7 %, of the largest share under 1 %: enough to rank (what is chosen is solved)."""
    rng = np.random.default_rng(sum(pattern))
    moments, shares = [], []
    for _ in range(3):
        a, b = rng.uniform(300, 1800, 2)
        nu, k, c = rng.uniform(0.15, 0.25), 12, 5.0
        layouts = [grid(a, b, *pattern, *(rng.uniform(0.06, 0.33, 2) * (a, b))) for _ in range(k)]
        true = solve_many(build([np.array([[0, 0], [a, 0], [a, b], [0, b]])], nu), layouts)
        rough = estimate(pattern, np.tile([a, b], (k, 1)), np.full(k, a * b), np.array(layouts), np.full(k, c), np.full(k, nu), np.zeros(k))
        worst = np.maximum(rough.m_support, rough.m_field)
        moments.append(np.abs(worst / true.governing_moment(c, 30.0) - 1))
        reaction = true.reaction.reshape(k, -1)
        shares.append(np.abs(rough.shares - reaction).max(axis=1) / reaction.max(axis=1))
    assert np.median(moments) < 0.007
    assert np.median(shares) < 0.01


def test_four_anchors_share_alike_and_turned_patterns_agree() -> None:
    """Statics: a symmetric 2x2 carries a quarter each.  A quarter turn swaps columns and rows."""
    a, b = 1300.0, 700.0
    def one(p, a, b, ex, ey):
        return estimate(p, np.array([[a, b]]), np.array([a * b]), grid(a, b, *p, ex, ey)[None], np.array([5.0]), np.array([0.2]), np.zeros(1))
    np.testing.assert_allclose(one((2, 2), a, b, 200, 110).shares, a * b / 4, rtol=1e-3)
    first, second = one((3, 2), a, b, 160, 110), one((2, 3), b, a, 110, 160)
    assert first.m_support[0] == pytest.approx(second.m_support[0], rel=1e-9)
    np.testing.assert_allclose(np.sort(first.shares), np.sort(second.shares), rtol=1e-9)
