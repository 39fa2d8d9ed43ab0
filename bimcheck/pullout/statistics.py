"""Sample statistics of one group, and its characteristic values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.tolerance import k_known, k_unknown, kn_known, kn_unknown

Sample = NDArray[np.float64]


@dataclass(frozen=True)
class Description:
    """n, mean, standard deviation s (n - 1), coefficient of variation V, extremes; the same of the natural logarithms.

    s, V and s_ln are nan for a single value.
    """

    n: int
    mean: float
    s: float
    V: float
    least: float
    greatest: float
    mean_ln: float
    s_ln: float


def describe(x: Sample) -> Description:
    """x: (n,) positive values, n >= 1."""
    x = np.asarray(x, dtype=float)
    ln, mean, s = np.log(x), float(np.mean(x)), spread(x)
    return Description(len(x), mean, s, s / mean, float(np.min(x)), float(np.max(x)), float(np.mean(ln)), spread(ln))


def spread(x: Sample) -> float:
    """Standard deviation with n - 1; exactly 0 where all values are equal, nan for one value."""
    if len(x) < 2:
        return float("nan")
    return 0.0 if np.all(x == x[0]) else float(np.std(x, ddof=1))


@dataclass(frozen=True)
class Characteristic:
    """Low fractiles of one sample; `governing` is the one the settings choose, by `rule` ('none' where there is no value)."""

    k: float
    k_text: str
    normal: float
    lognormal: float
    governing: float
    rule: str


def characteristic(d: Description, settings: Qualification, distribution: str) -> Characteristic:
    """The fractile of `settings` by both distributions.  distribution: 'lower', 'normal' or 'lognormal'."""
    k, k_text = k_of(d.n, settings)
    normal, lognormal = x_normal(d, k, settings.known_cov), x_lognormal(d, k, settings.known_cov)
    rule = distribution
    if distribution == "lower":
        rule = "normal" if normal <= lognormal else "lognormal"
    governing = normal if rule == "normal" else lognormal
    return Characteristic(k, k_text, normal, lognormal, governing, "none" if np.isnan(governing) else rule)


def k_of(n: int, settings: Qualification) -> tuple[float, str]:
    """Factor and its name, by the settings."""
    share, known = 1 - settings.fractile, settings.known_cov is not None
    sigma = "sigma known" if known else "sigma unknown"
    if settings.factor == "en1990-d1":
        return (kn_known if known else kn_unknown)(n, share), f"k_n, EN 1990 Table D.1 (prediction), {sigma}"
    factor = (k_known if known else k_unknown)(n, share, settings.confidence)
    return factor, f"k, ISO 16269-6, confidence {100 * settings.confidence:g} %, {sigma}"


def x_normal(d: Description, k: float, known_cov: float | None = None) -> float:
    """mean - k s.  ISO 16269-6; EN 1990 (D.4)."""
    return d.mean - k * (d.s if known_cov is None else known_cov * d.mean)


def x_lognormal(d: Description, k: float, known_cov: float | None = None) -> float:
    """exp(mean_ln - k s_ln), s_ln = sqrt(ln(V^2 + 1)) where V is known.  EN 1990 D.7.2(3)."""
    return float(np.exp(d.mean_ln - k * (d.s_ln if known_cov is None else np.sqrt(np.log(known_cov**2 + 1)))))


@dataclass(frozen=True)
class Normality:
    """p-values of the values and of their logarithms; nan where the test has nothing to work on."""

    p_normal: float
    p_lognormal: float
    test: str


def normality(x: Sample) -> Normality:
    """Shapiro-Wilk up to 5,000 values (its p-value is not trusted beyond), D'Agostino-Pearson above."""
    if len(x) < 3 or np.all(x == x[0]):
        return Normality(float("nan"), float("nan"), "not tested")
    name, test = ("Shapiro-Wilk", stats.shapiro) if len(x) <= 5000 else ("D'Agostino-Pearson", stats.normaltest)
    return Normality(float(test(x)[1]), float(test(np.log(x))[1]), name)
