"""The whole evaluation of a series file: what every output is written from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from bimcheck.pullout.compare import Homogeneity, comparisons
from bimcheck.pullout.conditioning import Eta, etas
from bimcheck.pullout.design import Factors, factors
from bimcheck.pullout.drift import Drift, drifts
from bimcheck.pullout.groups import Group, groups_of
from bimcheck.pullout.pool import Pooling, pool
from bimcheck.pullout.read import Series
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.warnings import Caution, cautions, of_drifts, of_pooling


@dataclass(frozen=True)
class Evaluation:
    """groups: as in the file; pooling.groups: what stands after pooling (the same without --pool)."""

    series: Series
    settings: Qualification
    today: date
    groups: tuple[Group, ...]
    pooling: Pooling
    comparisons: tuple[Homogeneity, ...]
    drifts: tuple[Drift, ...]
    etas: tuple[Eta, ...]
    cautions: tuple[Caution, ...]
    factors: Factors
    version: str

    @property
    def merged(self) -> tuple[Group, ...]:
        return tuple(g for g in self.pooling.groups if g.id.startswith("P"))

    @property
    def all_groups(self) -> tuple[Group, ...]:
        """Groups of the file, then pooled ones."""
        return self.groups + self.merged

    def cautions_of(self, group: Group) -> list[Caution]:
        return self._by_group.get(group.id, [])

    @cached_property
    def _by_group(self) -> dict[str, list[Caution]]:
        """Found once: a file may have as many groups as rows."""
        found: dict[str, list[Caution]] = {}
        for caution in self.cautions:
            for name in caution.group.split(", "):
                found.setdefault(name, []).append(caution)
        return found


def evaluate_series(series: Series, settings: Qualification, today: date, pool_over: Sequence[str] = (),
                    version: str = "") -> Evaluation:
    """today: the date of the run; pool_over: factors ('colour', ...) to pool where the comparison allows it."""
    groups = groups_of(series.table, settings)
    pooling = pool(groups, pool_over, settings)
    found_drifts = drifts(series.table, groups, settings)
    merged = [g for g in pooling.groups if g.id.startswith("P")]
    found = [*cautions(series.table, [*groups, *merged], settings, today), *of_drifts(found_drifts), *of_pooling(pooling)]
    return Evaluation(series, settings, today, tuple(groups), pooling, tuple(comparisons(groups, settings)),
                      tuple(found_drifts), tuple(etas(groups)), tuple(found), factors(settings), version)
