"""Drift along the quarry face: a straight line through loads over position, with its interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import stats

from bimcheck.core.tables import Table
from bimcheck.pullout.groups import KEYS, Group, coordinates
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.statistics import Sample
from bimcheck.pullout.wording import p_text, percent


@dataclass(frozen=True)
class Line:
    """y = intercept + slope x, the half-width of the slope's interval and the slope's p-value."""

    slope: float
    intercept: float
    half: float
    p: float
    n: int


def straight_line(x: Sample, y: Sample, confidence: float = 0.95) -> Line:
    """Least squares; interval by Student's t with n - 2 degrees of freedom.  Needs 3 values at 2 places or more."""
    fit: Any = stats.linregress(x, y)
    slope, intercept, p, error = (float(v) for v in (fit.slope, fit.intercept, fit.pvalue, fit.stderr))
    return Line(slope, intercept, float(stats.t.ppf((1 + confidence) / 2, len(x) - 2)) * error, p, len(x))


@dataclass(frozen=True)
class Drift:
    """Change over the sampled stretch of the face, over the mean, with its 95 % interval."""

    groups: tuple[Group, ...]
    line: Line
    length: float
    change: float
    half: float
    verdict: str
    reason: str


def drifts(table: Table, groups: Sequence[Group], settings: Qualification) -> list[Drift]:
    """One for all groups that agree in everything but batch, where positions are numbers."""
    at = coordinates(table)
    families: dict[tuple[str, ...], list[Group]] = {}
    for group in groups:
        families.setdefault(tuple(str(group.key[k]) for k in KEYS if k != "batch"), []).append(group)
    found = (_drift(at, table["value"], family, settings) for family in families.values())
    return [drift for drift in found if drift is not None]


def _drift(at: Sample, value: Sample, family: list[Group], settings: Qualification) -> Drift | None:
    rows = np.concatenate([g.rows for g in family])
    rows = rows[~np.isnan(at[rows])]
    if len(rows) < 3 or np.ptp(at[rows]) == 0:
        return None
    line = straight_line(at[rows], value[rows])
    length, mean = float(np.ptp(at[rows])), float(np.mean(value[rows]))
    change, half = line.slope * length / mean, line.half * length / mean
    verdict, reason = _decide(change, half, line, length, settings)
    return Drift(tuple(family), line, length, change, half, verdict, reason)


def _decide(change: float, half: float, line: Line, length: float, settings: Qualification) -> tuple[str, str]:
    figures = (f"{percent(change, sign=True)} over the sampled length of {length:g} (95 % interval {percent(change - half, sign=True)} to {percent(change + half, sign=True)}, "
               f"{p_text(line.p)})")
    if line.p < settings.alpha and abs(change) > settings.trivial:
        return "drift", f"{figures}: qualify both ends on their own"
    if abs(change) + half > settings.unseen:
        return "too few to decide", f"{figures}: a drift of more than {percent(settings.unseen)} is not excluded; test more specimens"
    return "no drift", f"{figures}: a drift of more than {percent(abs(change) + half)} is excluded"
