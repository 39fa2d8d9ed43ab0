"""Grubbs' test for one outlier: flagged with its side, never removed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import stats

from bimcheck.pullout.statistics import Sample, spread


@dataclass(frozen=True)
class Grubbs:
    """G of the most distant value on `side`, its position, the critical value; nan and -1 where there is no scatter."""

    G: float
    critical: float
    position: int
    side: str
    alpha: float

    @property
    def is_outlier(self) -> bool:
        return self.critical < self.G


def grubbs(x: Sample, side: str = "two-sided", alpha: float = 0.05) -> Grubbs:
    """side: 'two-sided' (the most distant value), 'least' or 'greatest'.  ISO 5725-2 7.3.4; NIST handbook 1.3.5.17.1."""
    x = np.asarray(x, dtype=float)
    s = spread(x)
    if len(x) < 3 or not s > 0:
        return Grubbs(float("nan"), float("nan"), -1, side, alpha)
    distance = {"two-sided": np.abs(x - x.mean()), "least": x.mean() - x, "greatest": x - x.mean()}[side]
    at = int(np.argmax(distance))
    return Grubbs(float(distance[at] / s), float(grubbs_critical(len(x), alpha, side == "two-sided")), at, side, alpha)


def grubbs_critical(n: Any, alpha: float, two_sided: bool) -> Any:
    """(n - 1)/sqrt(n) sqrt(t^2 / (n - 2 + t^2)), t of n - 2 degrees of freedom at alpha/n, two-sided alpha/(2 n).

    n: number of values, scalar or array, at least 3.
    """
    n = np.asarray(n, dtype=float)
    t2 = stats.t.isf(alpha / (2 * n if two_sided else n), n - 2) ** 2
    return (n - 1) / np.sqrt(n) * np.sqrt(t2 / (n - 2 + t2))
