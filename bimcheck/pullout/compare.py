"""May colours, thicknesses, batches or places be pooled?  Means, scatter and the size of the difference decide together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from bimcheck.pullout.groups import Group, families
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.statistics import Sample
from bimcheck.pullout.wording import listed, p_text, percent

POOL, APART, UNDECIDED = "may be pooled", "keep apart", "too few to decide: keep apart"
FACTORS = ("colour", "thickness", "batch", "position")


def welch_anova(samples: Sequence[Sample]) -> tuple[float, float, float, float]:
    """F, both degrees of freedom and p for equal means of normal samples whose scatter may differ.

    B. L. Welch, On the comparison of several mean values: an alternative approach, Biometrika 38 (1951).
    Samples without scatter: the classic analysis of variance; nan where that has nothing to work on either.
    """
    n = np.array([len(x) for x in samples], dtype=float)
    mean = np.array([np.mean(x) for x in samples])
    variance = np.array([np.var(x, ddof=1) for x in samples])
    if np.any(variance == 0):
        return _classic(samples)
    weight, k = n / variance, len(samples)
    share = weight / weight.sum()
    lack = np.sum((1 - share) ** 2 / (n - 1))
    F = np.sum(weight * (mean - np.sum(share * mean)) ** 2) / (k - 1) / (1 + 2 * (k - 2) / (k**2 - 1) * lack)
    df2 = (k**2 - 1) / (3 * lack)
    return float(F), k - 1, float(df2), float(stats.f.sf(F, k - 1, df2))


def _classic(samples: Sequence[Sample]) -> tuple[float, float, float, float]:
    k, n = len(samples), sum(map(len, samples))
    if all(np.ptp(x) == 0 for x in samples):
        same = len({float(x[0]) for x in samples}) == 1
        return (0.0, k - 1, n - k, 1.0) if same else (float("inf"), k - 1, n - k, 0.0)
    F, p = stats.f_oneway(*samples)
    return float(F), k - 1, n - k, float(p)


def brown_forsythe(samples: Sequence[Sample]) -> tuple[float, float]:
    """W and p for equal variances, by distances from the medians (M. B. Brown, A. B. Forsythe, JASA 69 (1974))."""
    if all(np.ptp(x) == 0 for x in samples):
        return float("nan"), 1.0
    W, p = stats.levene(*samples, center="median")
    return float(W), float(p)


def difference_not_excluded(samples: Sequence[Sample], confidence: float = 0.95) -> float:
    """The greatest difference of two means that the data do not exclude.

    Over all pairs |mean_i - mean_j| + t sqrt(s_i^2/n_i + s_j^2/n_j), Welch-Satterthwaite degrees of freedom, the confidence
    shared among the pairs (Bonferroni).  Needs two values in each sample.
    """
    n = np.array([len(x) for x in samples], dtype=float)
    mean = np.array([np.mean(x) for x in samples])
    part = np.array([np.var(x, ddof=1) for x in samples]) / n
    i, j = np.triu_indices(len(samples), 1)
    variance = part[i] + part[j]
    with np.errstate(invalid="ignore"):
        df = variance**2 / (part[i] ** 2 / (n[i] - 1) + part[j] ** 2 / (n[j] - 1))
    t = stats.t.ppf(1 - (1 - confidence) / len(i) / 2, np.where(variance > 0, df, 1.0))
    return float(np.max(np.abs(mean[i] - mean[j]) + t * np.sqrt(variance)))


@dataclass(frozen=True)
class Homogeneity:
    """One factor (colour, ...) over groups that agree in all else.

    difference: greatest less least mean over the mean of all; reach: what it may be at 95 % (all pairs together);
    scatter: greatest over least standard deviation; effect: the difference over the pooled standard deviation.
    """

    factor: str
    groups: tuple[Group, ...]
    F: float
    p_means: float
    p_scatter: float
    difference: float
    reach: float
    effect: float
    scatter: float
    verdict: str
    reason: str

    @property
    def title(self) -> str:
        return f"{self.factor}: {listed([_level(self.factor, g) for g in self.groups])}"


def _level(factor: str, group: Group) -> str:
    value = group.key[factor]
    return f"{value:g} mm" if factor == "thickness" else str(value) or "not stated"


def comparisons(groups: Sequence[Group], settings: Qualification) -> list[Homogeneity]:
    """Every factor that varies while all else is equal."""
    return [homogeneity(factor, family, settings) for factor in FACTORS for family in comparable(factor, groups)]


def comparable(factor: str, groups: Sequence[Group]) -> list[list[Group]]:
    """Groups that differ in `factor` alone; where every level also has its own batch or place, those may differ too."""
    strict = families(groups, (factor,))
    if factor in ("batch", "position"):
        return strict
    taken = {group.id for family in strict for group in family}
    loose = families([g for g in groups if g.id not in taken], (factor, "batch", "position"))
    return strict + [family for family in loose if len({g.key[factor] for g in family}) == len(family)]


def homogeneity(factor: str, family: Sequence[Group], settings: Qualification) -> Homogeneity:
    """The verdict and its reason.  Groups are compared as they are: outliers are not removed."""
    samples = [g.x for g in family]
    if min(map(len, samples)) < 3:
        return _undecided(factor, family)
    mean = float(np.mean(np.concatenate(samples)))
    F, _, _, p_means = welch_anova(samples)
    _, p_scatter = brown_forsythe(samples)
    difference = (max(g.described.mean for g in family) - min(g.described.mean for g in family)) / mean
    reach = difference_not_excluded(samples) / mean
    sizes = [g.described.s for g in family]
    scatter = max(sizes) / min(sizes) if min(sizes) > 0 else (1.0 if max(sizes) == 0 else float("inf"))
    pooled = np.sqrt(np.average(np.square(sizes), weights=[len(x) - 1 for x in samples]))
    effect = difference * mean / float(pooled) if pooled > 0 else (0.0 if difference == 0 else float("inf"))
    verdict, reason = _decide(difference, reach, scatter, p_means, p_scatter, effect, settings)
    reason += _confounded(factor, family)
    return Homogeneity(factor, tuple(family), F, p_means, p_scatter, difference, reach, effect, scatter, verdict, reason)


def _decide(difference: float, reach: float, scatter: float, p_means: float, p_scatter: float, effect: float,
            settings: Qualification) -> tuple[str, str]:
    means = f"means differ by {percent(difference, 1)} ({effect:.1f} standard deviations, Welch {p_text(p_means)})"
    if p_means < settings.alpha and difference > settings.trivial:
        return APART, f"{means}: more than chance explains"
    if p_scatter < settings.alpha and scatter > settings.scatter_ratio:
        return APART, (f"scatter differs: one standard deviation is {scatter:.1f} times another "
                       f"(Brown-Forsythe {p_text(p_scatter)}), although {means}")
    if reach > settings.unseen:
        return UNDECIDED, (f"{means}, but a difference of up to {percent(reach)} is not excluded at 95 %, more than the "
                           f"{percent(settings.unseen)} that pooling tolerates: test more specimens")
    real = ", a real but trivial difference" if p_means < settings.alpha else ""
    return POOL, (f"{means}{real}; more than {percent(reach)} is excluded at 95 %; scatter alike "
                  f"(ratio {scatter:.1f}, Brown-Forsythe {p_text(p_scatter)})")


def _confounded(factor: str, family: Sequence[Group]) -> str:
    others = [k for k in ("batch", "position") if k != factor and len({g.key[k] for g in family}) > 1]
    return f"; {' and '.join(others)} differ as well, so that the cause cannot be told" if others else ""


def _undecided(factor: str, family: Sequence[Group]) -> Homogeneity:
    nan = float("nan")
    few = min(family, key=lambda g: g.described.n)
    reason = f"group {few.id} has {few.described.n} specimen{'s' * (few.described.n > 1)}; at least 3 in each group are needed"
    return Homogeneity(factor, tuple(family), nan, nan, nan, nan, nan, nan, nan, UNDECIDED, reason)
