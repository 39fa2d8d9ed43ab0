"""Factors against printed tables and general libraries; what a characteristic value promises, by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from bimcheck.pullout.outliers import grubbs, grubbs_critical
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.statistics import characteristic, describe, normality
from bimcheck.pullout.tolerance import k_known, k_unknown, kn_known, kn_unknown


@pytest.mark.parametrize(("n", "k"), [(3, 3.152), (4, 2.681), (5, 2.463), (10, 2.104), (20, 1.932), (50, 1.811)])
def test_k_printed(n: int, k: float) -> None:
    """ISO 16269-6:2014 Annex C, one-sided, confidence 75 %, portion 95 % (from memory)."""
    assert k_unknown(n, 0.95, 0.75) == pytest.approx(k, abs=0.001)


@pytest.mark.parametrize(("n", "unknown", "known"), [(3, 3.37, 1.89), (5, 2.33, 1.80), (10, 1.92, 1.72), (20, 1.76, 1.68)])
def test_kn_printed(n: int, unknown: float, known: float) -> None:
    """EN 1990 Table D.1 (from memory); its 1.76 for 20 lies 0.012 below t sqrt(1 + 1/n)."""
    assert (kn_unknown(n), kn_known(n)) == pytest.approx((unknown, known), abs=0.015)


@pytest.mark.parametrize(("n", "k"), [(5, 3.407), (10, 2.355), (20, 1.926), (30, 1.777)])
def test_b_basis_printed(n: int, k: float) -> None:
    """CMH-17 Table of B-basis factors (portion 90 %, confidence 95 %; from memory)."""
    assert k_unknown(n, 0.90, 0.95) == pytest.approx(k, abs=0.002)


@pytest.mark.parametrize(("n", "one_sided", "two_sided"), [(3, 1.153, 1.155), (5, 1.672, 1.715), (10, 2.176, 2.290), (20, 2.557, 2.709)])
def test_grubbs_printed(n: int, one_sided: float, two_sided: float) -> None:
    """ASTM E178 Table 1, 5 % one-sided and 2.5 % one-sided, the latter being 5 % two-sided (from memory)."""
    assert grubbs_critical(n, 0.05, two_sided=False) == pytest.approx(one_sided, abs=0.0015)
    assert grubbs_critical(n, 0.05, two_sided=True) == pytest.approx(two_sided, abs=0.0015)


def test_factors_take_columns_and_tend_to_the_fractile() -> None:
    n = np.array([3, 10, 10**6])
    for k in (k_unknown(n, 0.95, 0.75), k_known(n, 0.95, 0.75), kn_unknown(n), kn_known(n)):
        assert np.all(np.diff(k) < 0)
        assert k[-1] == pytest.approx(stats.norm.ppf(0.95), abs=0.003)


def test_sample_statistics_match_a_general_library() -> None:
    """Peer: scipy.stats."""
    x = np.random.default_rng(7).lognormal(1.0, 0.2, 23)
    d = describe(x)
    assert (d.n, d.mean, d.s, d.V) == pytest.approx((23, stats.tmean(x), stats.tstd(x), stats.variation(x, ddof=1)))
    assert (d.mean_ln, d.s_ln) == pytest.approx((np.log(stats.gmean(x)), np.log(stats.gstd(x))))
    assert normality(x).p_normal == pytest.approx(stats.shapiro(x).pvalue)


def test_one_specimen_and_no_scatter() -> None:
    one, equal = describe(np.array([3.4])), describe(np.array([3.3] * 7))
    assert np.isnan(one.s)
    assert np.isnan(characteristic(one, Qualification(), "lower").governing)
    assert equal.s == 0.0
    assert characteristic(equal, Qualification(), "lower").governing == pytest.approx(3.3)
    assert not grubbs(np.array([3.3] * 7)).is_outlier


def test_lower_of_both_and_the_rule_it_names() -> None:
    d = describe(np.array([2.0, 2.5, 3.0, 3.5, 4.0]))
    c = characteristic(d, Qualification(), "lower")
    assert c.governing == min(c.normal, c.lognormal) == c.normal
    assert c.rule == "normal"
    assert characteristic(d, Qualification(), "lognormal").governing == c.lognormal > c.normal


def test_en1990_is_labelled_as_another_quantity() -> None:
    d = describe(np.array([2.0, 2.5, 3.0, 3.5, 4.0]))
    iso, d1 = characteristic(d, Qualification(), "normal"), characteristic(d, Qualification(factor="en1990-d1"), "normal")
    assert iso.governing < d1.governing
    assert "ISO 16269-6" in iso.k_text
    assert "prediction" in d1.k_text


def test_known_scatter_replaces_the_measured_one() -> None:
    """EN 1990 D.7.2(3): s_y = sqrt(ln(V^2 + 1)); by hand with V = 0.1, n = 4, equal values 2.0."""
    c = characteristic(describe(np.array([2.0] * 4)), Qualification(known_cov=0.1), "lower")
    k = 1.6449 + 0.6745 / 2  # standard normal table
    assert c.normal == pytest.approx(2.0 * (1 - 0.1 * k), rel=1e-4)
    assert c.lognormal == pytest.approx(2.0 * np.exp(-k * np.sqrt(np.log(1.01))), rel=1e-4)


TRIALS = 20_000


@pytest.mark.parametrize("n", [5, 10, 20])
@pytest.mark.parametrize("distribution", ["normal", "lognormal"])
def test_the_characteristic_value_lies_below_the_fractile_at_the_stated_confidence(n: int, distribution: str) -> None:
    """ISO 16269-6: in 75 % of series.  Band: four standard errors of a share of 20,000 trials."""
    rng, V = np.random.default_rng(20), 0.12
    s_ln = np.sqrt(np.log(1 + V**2))
    series = rng.normal(1, V, (TRIALS, n)) if distribution == "normal" else rng.lognormal(0, s_ln, (TRIALS, n))
    true = 1 + stats.norm.ppf(0.05) * V if distribution == "normal" else np.exp(stats.norm.ppf(0.05) * s_ln)
    settings = Qualification()
    k = characteristic(describe(series[0]), settings, distribution).k
    if distribution == "normal":
        values = series.mean(axis=1) - k * series.std(axis=1, ddof=1)
    else:
        values = np.exp(np.log(series).mean(axis=1) - k * np.log(series).std(axis=1, ddof=1))
    one_by_one = [characteristic(describe(x), settings, distribution).governing for x in series[:50]]
    assert one_by_one == pytest.approx(values[:50])
    assert np.mean(values <= true) == pytest.approx(0.75, abs=4 * np.sqrt(0.75 * 0.25 / TRIALS))


@pytest.mark.parametrize("n", [5, 10, 20])
def test_en1990_factor_predicts_the_next_specimen(n: int) -> None:
    """EN 1990 D.7.2: the next value lies below in 5 % of cases, averaged over series (predictive distribution)."""
    x = np.random.default_rng(21).normal(0, 1, (TRIALS, n + 1))
    limit = x[:, :n].mean(axis=1) - kn_unknown(n) * x[:, :n].std(axis=1, ddof=1)
    assert np.mean(x[:, n] < limit) == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / TRIALS))


@pytest.mark.parametrize("side", ["two-sided", "least", "greatest"])
def test_outlier_alarm_at_its_nominal_rate(side: str) -> None:
    """5 % of normal series of 10.  Band: four standard errors of a share of 4,000 trials."""
    rng = np.random.default_rng(22)
    alarms = [grubbs(x, side, 0.05).is_outlier for x in rng.normal(10, 1, (4000, 10))]
    assert np.mean(alarms) == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 4000))


def test_outlier_is_named_with_its_side() -> None:
    x = np.array([3.4, 3.5, 3.45, 3.55, 3.42, 3.48, 1.2])
    assert grubbs(x, "least").is_outlier
    assert grubbs(x, "least").position == 6
    assert not grubbs(x, "greatest").is_outlier
