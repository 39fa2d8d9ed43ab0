"""The search on estimates: agents walk over the positions of a family towards the least utilisation.

An agent is a panel that stands for others of its class, on one family.  What it sees are estimates, corrected by the
layouts of the family that have been solved so far.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import Array
from bimcheck.layout.batch import Batch, Index, estimated
from bimcheck.layout.classes import Class
from bimcheck.layout.families import Family, Listed, coarse
from bimcheck.layout.judge import Judge, Verdict

STEPS = 5  # positions along each side in the first look
_AROUND = np.array([(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if (i, j) != (0, 0)])
_AGENTS = ("family", "panel", "ix", "iy", "rank")
_TIE = 1e-3  # of the plate moment over the area: decides where a check that does not depend on position governs


@dataclass(frozen=True)
class Agents:
    """k agents: rows of families and panels, their positions and rank (smaller is better)."""

    family: Index
    panel: Index
    ix: Index
    iy: Index
    rank: Array

    def __len__(self) -> int:
        return len(self.family)

    def take(self, rows: Index) -> Agents:
        return Agents(*(getattr(self, k)[rows] for k in _AGENTS))

    def plus(self, other: Agents) -> Agents:
        return Agents(*(np.concatenate([getattr(self, k), getattr(other, k)]) for k in _AGENTS))


@dataclass(frozen=True)
class Learnt:
    """Solved positions (s, 2) of a family and logarithms (s, 4) of solved over estimated values."""

    at: Array
    logs: Array

    def factors(self, at: Array) -> Array:
        """(k, 4) corrections at positions (k, 2): means weighted by the inverse square of the distance."""
        near = 1 / (np.square(at[:, None] - self.at).sum(axis=2) + 0.25)
        return np.exp(near @ self.logs / near.sum(axis=1, keepdims=True))


@dataclass(frozen=True)
class Field:
    """What agents walk on."""

    judge: Judge
    classes: Sequence[Class]
    families: Sequence[Family | Listed]
    owner: Index  # class of each family

    def points(self, family: Index, ix: Index, iy: Index, n: int) -> Array:
        """(k, n, 2) positions; nan where they are not permitted."""
        out = np.full((len(family), n, 2), np.nan)
        for f, rows in groups(family):
            out[rows] = self.families[f].points(ix[rows], iy[rows])
        return out


def groups(keys: Index) -> list[tuple[int, Index]]:
    """Each key with its rows, by rising key."""
    order = np.argsort(keys, kind="stable")
    cuts = np.flatnonzero(np.diff(keys[order])) + 1
    return [(int(keys[part[0]]), part) for part in np.split(order, cuts) if len(part)]


def guess(field: Field, family: Index, ix: Index, iy: Index, n: int, learnt: Mapping[int, Learnt]) -> dict[int, tuple[Index, Batch]]:
    """Estimates of positions, by pattern: the rows that are permitted, and their batch."""
    points = field.points(family, ix, iy, n)
    allowed = np.isfinite(points[:, 0, 0])
    factors = np.ones((len(family), 4))
    for f, rows in groups(family):
        if f in learnt:
            factors[rows] = learnt[f].factors(np.column_stack([ix[rows], iy[rows]]).astype(float))
    kinds = np.array([f.pattern for f in field.families]).reshape(-1, 2)[family]
    out = {}
    for code, rows in groups(kinds[:, 0] * 1000 + kinds[:, 1]):
        some = rows[allowed[rows]]
        if len(some):
            out[code] = (some, estimated(field.classes, field.owner[family[some]], (code // 1000, code % 1000), points[some], factors[some]))
    return out


def look(field: Field, panel: Index, family: Index, ix: Index, iy: Index, n: int, learnt: Mapping[int, Learnt]) -> Array:
    """(k,) estimated rank of panel on position, inf where the position is not permitted."""
    rank = np.full(len(panel), np.inf)
    for rows, batch in guess(field, family, ix, iy, n, learnt).values():
        rank[rows] = ranked(field.judge.of(batch, panel[rows], np.arange(len(rows))), batch, np.arange(len(rows)))
    return rank


def ranked(verdict: Verdict, batch: Batch, layout: Index) -> Array:
    """Rank of a verdict, with the plate moment as what decides between equals."""
    area = np.array([c.site.polygon.area for c in batch.classes])[batch.cls]
    return verdict.rank + _TIE * np.nan_to_num((batch.columns["m_plate"] / area)[layout], nan=1.0)


def start(field: Field, panel: Index, family: Index, n: int, learnt: Mapping[int, Learnt],
          ladder: Callable[[Family | Listed], tuple[Index, Index]] = lambda f: coarse(f, STEPS)) -> Agents:
    """Agents at the best of the first look, one for each pair of panel and family."""
    steps = {f: ladder(field.families[f]) for f in np.unique(family).tolist()}
    counts = np.array([len(steps[f][0]) for f in family.tolist()], dtype=np.int64)
    agent = np.repeat(np.arange(len(family)), counts)
    ix, iy = (np.concatenate([np.empty(0, dtype=np.int64), *(steps[f][k] for f in family.tolist())]) for k in (0, 1))
    rank = look(field, panel[agent], family[agent], ix, iy, n, learnt)
    best = first_of(agent, rank)
    return Agents(family[agent[best]], panel[agent[best]], ix[best], iy[best], rank[best])


def first_of(group: Index, *keys: NDArray) -> Index:
    """Rows that come first in their group by `keys`, the first key counting most."""
    order = np.lexsort((*keys[::-1], group))
    return order[np.flatnonzero(np.r_[True, np.diff(group[order]) != 0])] if len(order) else order


def walk(field: Field, agents: Agents, n: int, learnt: Mapping[int, Learnt], strides: Sequence[Array]) -> Agents:
    """Agents after steps to the best neighbour; strides: (k, 2) step along x and y for each round."""
    shape = np.array([f.shape for f in field.families]).reshape(-1, 2)
    for stride in strides:
        at = np.column_stack([agents.ix, agents.iy])
        there = np.clip(at[:, None] + _AROUND * np.asarray(stride, dtype=np.int64)[:, None], 0, shape[agents.family][:, None] - 1)
        agent = np.repeat(np.arange(len(agents)), len(_AROUND))
        ix, iy = there.reshape(-1, 2).T
        rank = look(field, agents.panel[agent], agents.family[agent], ix, iy, n, learnt)
        every = Agents(np.r_[agents.family, agents.family[agent]], np.r_[agents.panel, agents.panel[agent]],
                       np.r_[agents.ix, ix], np.r_[agents.iy, iy], np.r_[agents.rank, rank])
        agents = every.take(first_of(np.r_[np.arange(len(agents)), agent], every.rank))
    return agents


def around(field: Field, agents: Agents, n: int, learnt: Mapping[int, Learnt]) -> tuple[Index, Array]:
    """Family, ix, iy (k, 3) of the positions next to the agents', and their ranks (k,)."""
    shape = np.array([f.shape for f in field.families]).reshape(-1, 2)
    agent = np.repeat(np.arange(len(agents)), len(_AROUND))
    family = agents.family[agent]
    at = np.column_stack([agents.ix, agents.iy])[agent] + np.tile(_AROUND, (len(agents), 1))
    at = np.clip(at, 0, shape[family] - 1)
    rank = look(field, agents.panel[agent], family, at[:, 0], at[:, 1], n, learnt)
    return np.column_stack([family, at]), rank


def first_strides(field: Field, agents: Agents) -> list[Array]:
    """Strides that halve from half the first look's steps down to one position."""
    shape = np.array([f.shape for f in field.families]).reshape(-1, 2)[agents.family]
    stride, out = shape / (STEPS - 1), []
    while (stride > 1).any():
        stride = np.maximum(np.ceil(stride / 2), 1)
        out.append(stride)
        if (stride == 1).all():
            break
    return out or [np.ones_like(shape)]


def learn(field: Field, batch: Batch, family: Index, ix: Index, iy: Index, learnt: Mapping[int, Learnt]) -> dict[int, Learnt]:
    """What solved layouts (one row each in family, ix, iy) say about the estimates, added to what was learnt."""
    logs = np.zeros((len(batch), 4))
    for rows, rough in guess(field, family, ix, iy, batch.n, {}).values():
        pairs = [(batch.columns[k][rows], rough.columns[k]) for k in ("m_support", "m_field", "w_unit")]
        pairs.append((batch.shares["share"][rows].max(axis=1), rough.shares["share"].max(axis=1)))
        logs[rows] = np.stack([_log(a, b) for a, b in pairs], axis=1)
    out = dict(learnt)
    for f, rows in groups(family):
        new = Learnt(np.column_stack([ix[rows], iy[rows]]).astype(float), logs[rows])
        old = out.get(f)
        out[f] = new if old is None else Learnt(np.r_[old.at, new.at], np.r_[old.logs, new.logs])
    return out


def _log(true: Array, rough: Array) -> Array:
    with np.errstate(divide="ignore", invalid="ignore"):
        value = np.log(np.asarray(true, dtype=float) / rough)
    return np.where(np.isfinite(value), value, 0.0)
