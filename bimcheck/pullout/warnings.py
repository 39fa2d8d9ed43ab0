"""What a reader must know before using a group's figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.pullout.drift import Drift
from bimcheck.pullout.groups import Group
from bimcheck.pullout.pool import Pooling
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.wording import percent


@dataclass(frozen=True)
class Caution:
    """rule: a plain name; group: its id, '' for the whole file."""

    rule: str
    group: str
    text: str


def cautions(table: Table, groups: Sequence[Group], settings: Qualification, today: date) -> list[Caution]:
    """All cautions of all groups, in the groups' order."""
    return [Caution(rule, group.id, text) for group in groups for rule, text in _of(group, table, settings, today)]


def of_drifts(found: Sequence[Drift]) -> list[Caution]:
    return [Caution("drift", ", ".join(g.id for g in d.groups), d.reason) for d in found if d.verdict == "drift"]


def of_pooling(pooling: Pooling) -> list[Caution]:
    return [Caution("not-pooled", ", ".join(g.id for g in c.groups), f"{c.title}: {c.verdict}: {c.reason}") for c in pooling.refused]


def _of(group: Group, table: Table, settings: Qualification, today: date) -> Iterator[tuple[str, str]]:
    yield from _sample(group, settings)
    yield from _shape(group, table, settings)
    yield from _age(table["date"][group.rows], settings, today)
    yield from _file(group, table)
    if not group.flexural:
        yield from _rig(group, settings)


def _sample(group: Group, settings: Qualification) -> Iterator[tuple[str, str]]:
    d = group.described
    if d.n < settings.least_specimens:
        yield "few-specimens", f"{d.n} specimen{'s' * (d.n > 1)}, fewer than {settings.least_specimens} ({_rule(settings)})"
    if d.n == 1 and settings.known_cov is None:
        yield "no-characteristic", "one specimen has no scatter: no characteristic value"
    if d.n > 1 and d.s == 0:
        yield "no-scatter", "all values are equal: check the load cell's resolution or the copying of the figures"
    if settings.cov_limit < d.V:
        yield "scatter", f"coefficient of variation {percent(d.V)}, above {percent(settings.cov_limit)}"
    if group.characteristic.governing <= 0:
        yield "no-resistance", "the characteristic value is not above zero: the scatter is too great for a normal distribution"


def _rule(settings: Qualification) -> str:
    return "ASTM C1354" if settings.specimens == "astm-c1354" else "common practice, no source"


def _shape(group: Group, table: Table, settings: Qualification) -> Iterator[tuple[str, str]]:
    if group.outlier.is_outlier:
        row = group.rows[group.outlier.position]
        yield "outlier", (f"row {table['line'][row]}{_specimen(table, row)} is an outlier (Grubbs {group.outlier.side}, "
                          f"G = {group.outlier.G:.2f} above {group.outlier.critical:.2f}); kept: find the cause before leaving it out")
    if group.normality.p_normal < settings.alpha and group.normality.p_lognormal < settings.alpha:
        yield "distribution", f"neither normal nor log-normal ({group.normality.test}, p below {settings.alpha:g} for both)"
    modes = _distinct(table["failure"][group.rows])
    if len(modes) > 1:
        yield "failure-modes", f"mixed failure modes: {', '.join(f'{name} {count}' for name, count in modes.items())}"


def _specimen(table: Table, row: int) -> str:
    return f" (specimen {table['specimen'][row]})" if table["specimen"][row] else ""


def _distinct(words: Any) -> dict[str, int]:
    names, counts = np.unique([w for w in words if w], return_counts=True)
    return dict(zip(names.tolist(), counts.tolist(), strict=True))


def _age(dates: Any, settings: Qualification, today: date) -> Iterator[tuple[str, str]]:
    stated = [d for d in dates if d]
    if len(stated) < len(dates):
        yield "undated", f"{len(dates) - len(stated)} of {len(dates)} specimens without a date: their age is not judged"
    if stated and (years := (today - date.fromisoformat(min(stated))).days / 365.25) > settings.age_years:
        yield "old", f"oldest test of {min(stated)} is {years:.1f} years old, above {settings.age_years:g}: repeat the series"


def _file(group: Group, table: Table) -> Iterator[tuple[str, str]]:
    laboratories = _distinct(table["laboratory"][group.rows])
    if 1 < len(laboratories) < len(group.rows):
        yield "laboratories", f"several laboratory references in one group: {', '.join(laboratories)}"
    if not group.key["condition"]:
        yield "condition", "condition not stated: taken as not conditioned"


def _rig(group: Group, settings: Qualification) -> Iterator[tuple[str, str]]:
    key = group.key
    for name, used in (("edge", settings.edge_mm), ("embedment", settings.embedment_mm)):
        if used is not None and abs(used - key[name]) > 0.05:
            yield name, f"tested at {key[name]:g} mm {name}, the project uses {used:g} mm{_side(name, used, key[name])}"
    least = settings.cone_ratio * key["embedment"]
    if np.isnan(key["ring"]):
        yield "ring", "support ring not stated: whether a breakout cone could form is not judged"
    elif key["ring"] < least - 1e-9:
        yield "ring", (f"support ring {key['ring']:g} mm is too small for the breakout cone: at least {least:g} mm "
                       f"({settings.cone_ratio:g} embedments), else the ring holds the cone down and the load is too high")


def _side(name: str, used: float, tested: float) -> str:
    return ": farther from the edge than tested, on the safe side" if name == "edge" and used > tested else ": not covered by this group"
