"""Conditioned against dry specimens: the factor eta, with its uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from bimcheck.pullout.groups import Group, agreeing
from bimcheck.pullout.statistics import Sample


@dataclass(frozen=True)
class Ratio:
    """Ratio of means and its interval."""

    value: float
    low: float
    high: float


def ratio_of_means(a: Sample, b: Sample, confidence: float = 0.95) -> Ratio:
    """mean(a) / mean(b); interval by error propagation on the logarithm, Welch-Satterthwaite degrees of freedom.

    var(ln ratio) = V_a^2 / n_a + V_b^2 / n_b.  Needs two values in each.
    """
    part = [np.var(x, ddof=1) / len(x) / np.mean(x) ** 2 for x in (a, b)]
    value, total = float(np.mean(a) / np.mean(b)), sum(part)
    if total == 0:
        return Ratio(value, value, value)
    df = total**2 / sum(p**2 / (len(x) - 1) for p, x in zip(part, (a, b), strict=True))
    half = float(stats.t.ppf((1 + confidence) / 2, df) * np.sqrt(total))
    return Ratio(value, value * float(np.exp(-half)), value * float(np.exp(half)))


@dataclass(frozen=True)
class Eta:
    """eta = mean of the conditioned over mean of the dry group; `factor` is what a material row may use (at most 1)."""

    condition: str
    group: Group
    dry: Group
    ratio: Ratio | None
    factor: float
    reason: str


def etas(groups: Sequence[Group]) -> list[Eta]:
    """Each conditioned group against the dry group that agrees in all else, or in all but batch and place."""
    dry = [g for g in groups if g.key["condition"] == "dry"]
    found = []
    for group in (g for g in groups if g.conditioned):
        for ignoring in (("condition",), ("condition", "batch", "position")):
            partners = [d for d in dry if agreeing(d, ignoring) == agreeing(group, ignoring)]
            if partners:
                found += [_eta(group, partner) for partner in partners]
                break
    return found


def _eta(group: Group, dry: Group) -> Eta:
    condition = group.key["condition"]
    if min(group.described.n, dry.described.n) < 2:
        return Eta(condition, group, dry, None, float("nan"), "one specimen has no scatter; at least 2 in each group are needed")
    ratio = ratio_of_means(group.x, dry.x)
    text = f"{condition} over dry: {ratio.value:.3f} (95 % interval {ratio.low:.3f} to {ratio.high:.3f})"
    if ratio.low > 1:
        text += "; stronger than dry: taken as 1"
    elif ratio.high >= 1:
        text += "; no loss is proved, and none up to the lower end is excluded"
    else:
        text += "; the loss is more than chance explains"
    if group.key["batch"] != dry.key["batch"]:
        text += "; the batches differ as well"
    return Eta(condition, group, dry, ratio, min(ratio.value, 1.0), text)
