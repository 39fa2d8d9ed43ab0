"""Comparisons: general libraries as peers, rates by simulation, verdicts with their reasons."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from bimcheck.pullout.compare import APART, POOL, UNDECIDED, brown_forsythe, comparisons, welch_anova
from bimcheck.pullout.conditioning import etas, ratio_of_means
from bimcheck.pullout.drift import drifts, straight_line
from bimcheck.pullout.groups import groups_of
from bimcheck.pullout.pool import pool
from bimcheck.pullout.settings import Qualification
from tests.pullout.series import row, table

Q = Qualification()


def _rows(seed: int, mean: float, V: float, n: int, **key: object) -> list[str]:
    """n loads of exactly this mean and coefficient of variation, in normal quantiles shuffled."""
    z = np.random.default_rng(seed).permutation(stats.norm.ppf((np.arange(n) + 0.5) / n))
    return [row(f"{x:.5f}", **key) for x in mean * (1 + V * z / z.std(ddof=1))]  # type: ignore[arg-type]


def _groups(*parts: list[str]):
    return groups_of(table([r for part in parts for r in part]), Q)


def test_welch_for_two_is_the_unequal_variance_t_test() -> None:
    """Peer: scipy.stats.ttest_ind with unequal variances; F = t^2, same p."""
    rng = np.random.default_rng(1)
    a, b = rng.normal(3.5, 0.2, 10), rng.normal(3.8, 0.5, 14)
    F, _, df2, p = welch_anova([a, b])
    peer = stats.ttest_ind(a, b, equal_var=False)
    assert (F, df2, p) == pytest.approx((peer.statistic**2, peer.df, peer.pvalue))


def test_welch_alarms_at_its_nominal_rate() -> None:
    """Equal means, scatter 1:2:3: 5 % of 2,000 trials, four standard errors and half a percent for the approximation."""
    rng = np.random.default_rng(2)
    alarms = [welch_anova([rng.normal(10, s, 10) for s in (1, 2, 3)])[3] < 0.05 for _ in range(2000)]
    assert np.mean(alarms) == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 2000) + 0.005)


def test_brown_forsythe_by_definition() -> None:
    """The analysis of variance of distances from the medians (Brown and Forsythe 1974); peer: scipy.stats.f_oneway."""
    rng = np.random.default_rng(3)
    samples = [rng.normal(3, s, 11) for s in (0.1, 0.2, 0.4)]
    peer = stats.f_oneway(*[np.abs(x - np.median(x)) for x in samples])
    assert brown_forsythe(samples) == pytest.approx((peer.statistic, peer.pvalue))


@pytest.mark.parametrize(("mean", "V", "verdict", "word"), [
    (3.52, 0.06, POOL, "excluded"),          # colours that differ by half a percent
    (4.40, 0.06, APART, "means differ"),     # a quarter stronger
    (3.50, 0.20, APART, "scatter differs"),  # same mean, three times the scatter
])
def test_colours(mean: float, V: float, verdict: str, word: str) -> None:
    (found,) = comparisons(_groups(_rows(1, 3.5, 0.06, 15, colour="grey"), _rows(2, mean, V, 15, colour="red")), Q)
    assert (found.factor, found.verdict) == ("colour", verdict)
    assert word in found.reason


def test_absence_of_proof_is_not_proof_of_absence() -> None:
    """Four widely scattered specimens each: p is far above 5 %, yet pooling is not allowed."""
    (found,) = comparisons(_groups(_rows(1, 3.5, 0.2, 4, colour="grey"), _rows(2, 3.7, 0.2, 4, colour="red")), Q)
    assert found.p_means > 0.3
    assert found.verdict == UNDECIDED
    assert "test more" in found.reason


def test_a_trivial_difference_that_is_significant_may_be_pooled() -> None:
    (found,) = comparisons(_groups(_rows(1, 3.50, 0.04, 200, colour="grey"), _rows(2, 3.57, 0.04, 200, colour="red")), Q)
    assert found.p_means < 0.001
    assert found.verdict == POOL
    assert "trivial" in found.reason


def test_one_specimen_cannot_be_compared() -> None:
    (found,) = comparisons(_groups(_rows(1, 3.5, 0.1, 8, colour="grey"), [row(3.4, colour="red")]), Q)
    assert found.verdict == UNDECIDED
    assert "1 specimen" in found.reason


def test_only_groups_that_agree_in_all_else_are_compared() -> None:
    assert comparisons(_groups(_rows(1, 3.5, 0.1, 8), _rows(2, 3.5, 0.1, 8, colour="red", condition="wet")), Q) == []


def test_pooling_only_where_the_comparison_allows_it() -> None:
    alike = _groups(_rows(1, 3.5, 0.06, 15, colour="grey"), _rows(2, 3.52, 0.06, 15, colour="red"))
    apart = _groups(_rows(1, 3.5, 0.06, 15, colour="grey"), _rows(2, 4.4, 0.06, 15, colour="red"))
    (merged,) = pool(alike, ["colour"], Q).groups
    assert merged.described.n == 30
    assert sorted(merged.x) == sorted([*alike[0].x, *alike[1].x])
    refused = pool(apart, ["colour"], Q)
    assert (len(refused.groups), len(refused.refused), refused.into) == (2, 1, {})


def _drift(slope: float, V: float, n: int = 20):
    z = np.random.default_rng(4).permutation(stats.norm.ppf((np.arange(n) + 0.5) / n))
    rows = [row(f"{3.5 * (1 + slope * (i / (n - 1) - 0.5) + V * z[i]):.4f}", position=2 * i) for i in range(n)]
    t = table(rows)
    (found,) = drifts(t, groups_of(t, Q), Q)
    return found


def test_drift_along_the_quarry() -> None:
    """A fifth of the mean over the face, invented; the interval holds the truth."""
    strong, none, vague = _drift(-0.3, 0.04), _drift(0.0, 0.04), _drift(0.0, 0.3)
    assert (strong.verdict, none.verdict, vague.verdict) == ("drift", "no drift", "too few to decide")
    assert abs(strong.change + 0.3) < strong.half
    assert strong.length == 38


def test_interval_of_the_slope_holds_the_truth_at_its_rate() -> None:
    """95 % of 1,000 trials, four standard errors."""
    rng, x = np.random.default_rng(6), np.arange(12.0)
    lines = [straight_line(x, 3 + 0.1 * x + rng.normal(0, 0.3, 12)) for _ in range(1000)]
    inside = [abs(line.slope - 0.1) < line.half for line in lines]
    assert np.mean(inside) == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / 1000))


def test_eta_and_its_uncertainty() -> None:
    groups = _groups(_rows(1, 4.0, 0.08, 12), _rows(2, 3.2, 0.08, 12, condition="frost"), _rows(3, 4.4, 0.08, 12, condition="wet"))
    frost, wet = etas(groups)
    assert (frost.condition, frost.factor) == ("frost", pytest.approx(0.8, rel=1e-4))
    assert frost.ratio is not None and frost.ratio.low < 0.8 < frost.ratio.high < 1
    assert wet.factor == 1.0
    assert wet.ratio is not None and wet.ratio.value == pytest.approx(1.1, rel=1e-4)


def test_interval_of_the_ratio_holds_the_truth_at_its_rate() -> None:
    """95 % of 1,500 trials of 10 against 10, coefficient of variation 15 %; four standard errors and one percent."""
    rng = np.random.default_rng(8)
    found = [ratio_of_means(rng.normal(3.2, 0.48, 10), rng.normal(4, 0.6, 10)) for _ in range(1500)]
    inside = [r.low < 0.8 < r.high for r in found]
    assert np.mean(inside) == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / 1500) + 0.01)
