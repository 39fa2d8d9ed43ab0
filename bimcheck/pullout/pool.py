"""Pooling, where it was asked for and the comparison allows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.pullout.compare import POOL, Homogeneity, comparable, homogeneity
from bimcheck.pullout.groups import KEYS, Group, evaluate
from bimcheck.pullout.settings import Qualification


@dataclass(frozen=True)
class Pooling:
    """groups: what stands after pooling; into: group -> pooled group; refused: comparisons that forbid it."""

    groups: tuple[Group, ...]
    into: dict[str, str]
    refused: tuple[Homogeneity, ...]


def pool(groups: Sequence[Group], factors: Sequence[str], settings: Qualification) -> Pooling:
    """Factor after factor, so that pooled batches may then be pooled over colours."""
    current, into, refused = list(groups), dict[str, str](), list[Homogeneity]()
    for factor in factors:
        for family in comparable(factor, current):
            compared = homogeneity(factor, family, settings)
            if compared.verdict != POOL:
                refused.append(compared)
                continue
            merged = _merge(f"P{len(set(into.values())) + 1}", family, settings)
            into |= {group.id: merged.id for group in family}
            current = [g for g in current if g.id not in into] + [merged]
    return Pooling(tuple(current), into, tuple(refused))


def _merge(name: str, family: Sequence[Group], settings: Qualification) -> Group:
    key = {k: _joined([g.key[k] for g in family]) for k in (*KEYS, "least_thickness")}
    rows = np.concatenate([g.rows for g in family])
    return evaluate(name, key, rows, np.concatenate([g.x for g in family]), settings)


def _joined(values: list[Any]) -> Any:
    """The common value; of different names all, of different sizes the least."""
    if isinstance(values[0], str):
        return " + ".join(dict.fromkeys(values))
    return float(np.min(values))
