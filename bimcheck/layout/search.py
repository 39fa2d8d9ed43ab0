"""The search on estimates: agents walk over the positions of a family towards the least utilisation.

An agent is a panel that stands for others of its class, on one family.  What it sees are estimates, corrected by the
layouts of the family that have been solved so far.  What one agent does depends on no other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import Array
from bimcheck.layout.batch import Batch, Index, estimated
from bimcheck.layout.classes import Classes
from bimcheck.layout.families import Family, Listed, Steps, coarse, steps_of
from bimcheck.layout.judge import UNKNOWN, Judge, Verdict
from bimcheck.layout.learnt import Learnt

STEPS = 5  # positions along each side in the first look
HIDES = 0.7  # utilisation from which an edge distance may govern: edges are rarely more than half as wide again as they must be
_AROUND = np.array([(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if (i, j) != (0, 0)])
_AGENTS = ("family", "panel", "ix", "iy", "rank")
_TIE = 1e-3  # of the plate moment over the area: decides where a check that does not depend on position governs
_MOST = 1000  # more than a pattern has columns or rows


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

    @property
    def at(self) -> Index:
        return np.column_stack([self.ix, self.iy])

    def take(self, rows: Index) -> Agents:
        return Agents(*(getattr(self, k)[rows] for k in _AGENTS))

    def plus(self, other: Agents) -> Agents:
        return Agents(*(np.concatenate([getattr(self, k), getattr(other, k)]) for k in _AGENTS))


@dataclass(frozen=True, eq=False)
class Field:
    """What agents walk on."""

    judge: Judge
    classes: Classes
    families: Sequence[Family | Listed]
    owner: Index  # class of each family

    @cached_property
    def shape(self) -> Index:
        """(f, 2) positions along x and y of each family."""
        return np.array([f.shape for f in self.families], dtype=np.int64).reshape(-1, 2)

    @cached_property
    def pattern(self) -> Index:
        """(f,) columns and rows of each family in one number."""
        return np.array([_MOST * f.pattern[0] + f.pattern[1] for f in self.families], dtype=np.int64)

    @cached_property
    def steps(self) -> Steps:
        return steps_of(self.families)

    def points(self, family: Index, at: Index, n: int) -> Array:
        """(k, n, 2) positions at (k, 2); nan where they are not permitted."""
        out = np.full((len(family), n, 2), np.nan)
        plain = self.steps.plain[family]
        for code, rows in groups(np.where(plain, self.pattern[family], -1)):
            if code >= 0:
                out[rows] = self.steps.points(family[rows], at[rows, 0], at[rows, 1], divmod(code, _MOST))
        rest = np.flatnonzero(~plain)
        for f, rows in groups(family[rest]):
            out[rest[rows]] = self.families[f].points(*at[rest[rows]].T)
        return out


def groups(keys: Index) -> list[tuple[int, Index]]:
    """Each key with its rows, by rising key."""
    order = np.argsort(keys, kind="stable")
    cuts = np.flatnonzero(np.diff(keys[order])) + 1
    return [(int(keys[part[0]]), part) for part in np.split(order, cuts) if len(part)]


def guess(field: Field, family: Index, at: Index, n: int, learnt: Learnt) -> list[tuple[Index, Batch]]:
    """Estimates of positions (k, 2), by pattern: the rows that are permitted, and their batch."""
    points = field.points(family, at, n)
    factors = learnt.factors(family, at.astype(float))
    allowed = np.flatnonzero(np.isfinite(points[:, 0, 0]))
    out = []
    for code, part in groups(field.pattern[family[allowed]]):
        rows = allowed[part]
        out.append((rows, estimated(field.classes, field.owner[family[rows]], divmod(code, _MOST), points[rows], factors[rows])))
    return out


AT_ONCE = 20_000  # positions looked at in one piece


def look(field: Field, panel: Index, family: Index, at: Index, n: int, learnt: Learnt) -> Array:
    """(k,) estimated rank of panel on position (k, 2), inf where the position is not permitted."""
    rank = np.full(len(panel), np.inf)
    for start in range(0, len(panel), AT_ONCE):
        piece = slice(start, start + AT_ONCE)
        for rows, batch in guess(field, family[piece], at[piece], n, learnt):
            every = np.arange(len(rows))
            rank[start + rows] = ranked(field.judge.of(batch, panel[piece][rows], every), batch, every)
    return rank


def ranked(verdict: Verdict, batch: Batch, layout: Index) -> Array:
    """Rank of a verdict, with the plate moment as what decides between equals."""
    moment = batch.columns["m_plate"] / batch.classes.area[batch.cls]
    return verdict.rank + _TIE * np.nan_to_num(moment[layout], nan=1.0)


Ladder = Callable[[Family | Listed], Index]


def start(field: Field, panel: Index, family: Index, n: int, ladder: Ladder = lambda f: coarse(f, STEPS), *, twice: bool = False) -> Agents:
    """Agents at the best of the first look, one for each pair of panel and family; twice: another at the best with other
    columns, for a check that does not change with the rows (an edge distance) may hide what lies beside."""
    used, of = np.unique(family, return_inverse=True)
    steps = [ladder(field.families[f]).T for f in used.tolist()]
    counts = np.array([len(s) for s in steps], dtype=np.int64)
    first = np.cumsum(counts) - counts
    agent = np.repeat(np.arange(len(family)), counts[of])
    within = np.arange(len(agent)) - np.repeat(np.cumsum(counts[of]) - counts[of], counts[of])
    at = np.concatenate([np.empty((0, 2), dtype=np.int64), *steps])[first[of][agent] + within]
    rank = look(field, panel[agent], family[agent], at, n, Learnt.nothing())
    best = first_of(agent, rank)
    if twice:
        hidden = np.mod(rank[best], UNKNOWN) > HIDES
        elsewhere = np.flatnonzero(hidden[agent] & (at[:, 0] != at[best, 0][agent]) & np.isfinite(rank))
        best = np.concatenate([best, elsewhere[first_of(agent[elsewhere], rank[elsewhere])]])
    return Agents(family[agent[best]], panel[agent[best]], at[best, 0], at[best, 1], rank[best])


def first_of(group: Index, *keys: NDArray) -> Index:
    """Rows that come first in their group by `keys`, the first key counting most."""
    order = np.lexsort((*keys[::-1], group))
    return order[np.flatnonzero(np.r_[True, np.diff(group[order]) != 0])] if len(order) else order


def neighbours(shape: Index, at: Index, stride: Index) -> tuple[Index, Index]:
    """Row of each agent's position at (k, 2) and the positions a stride (k, 2) away: within the family, each once, none
    the agent's own."""
    there = np.clip(at[:, None] + _AROUND * stride[:, None], 0, shape[:, None] - 1)
    code = there[..., 0] * shape[:, 1:] + there[..., 1]
    new = code != (at[:, :1] * shape[:, 1:] + at[:, 1:])
    for k in range(1, len(_AROUND)):
        new[:, k] &= (code[:, :k] != code[:, k, None]).all(axis=1)
    agent, which = np.nonzero(new)
    return agent, there[agent, which]


def walk(field: Field, agents: Agents, n: int, learnt: Learnt, strides: Sequence[Index]) -> Agents:
    """Agents after steps to the best neighbour; strides: (k, 2) step along x and y for each round."""
    for stride in strides:
        agent, there = neighbours(field.shape[agents.family], agents.at, stride)
        rank = look(field, agents.panel[agent], agents.family[agent], there, n, learnt)
        every = agents.plus(Agents(agents.family[agent], agents.panel[agent], there[:, 0], there[:, 1], rank))
        agents = every.take(first_of(np.r_[np.arange(len(agents)), agent], every.rank))
    return agents


def around(field: Field, agents: Agents, n: int, learnt: Learnt) -> tuple[Index, Array]:
    """Family, ix, iy (k, 3) of the positions next to the agents', and their ranks (k,)."""
    agent, there = neighbours(field.shape[agents.family], agents.at, np.ones((len(agents), 2), dtype=np.int64))
    family = agents.family[agent]
    return np.column_stack([family, there]), look(field, agents.panel[agent], family, there, n, learnt)


def first_strides(field: Field, agents: Agents) -> list[Index]:
    """Strides that halve from half the first look's steps down to one position; 0 for agents that are through."""
    stride = np.maximum(np.ceil(field.shape[agents.family] / (2 * (STEPS - 1))), 1).astype(np.int64)
    out = []
    while stride.any():
        out.append(stride)
        through = (stride <= 1).all(axis=1, keepdims=True)
        stride = np.where(through, 0, (stride + 1) // 2)
    return out


def learn(field: Field, batch: Batch, family: Index, at: Index, learnt: Learnt) -> Learnt:
    """What solved layouts (one row each in family and at) say about the estimates, added to what was learnt."""
    logs = np.zeros((len(batch), 4))
    for rows, rough in guess(field, family, at, batch.n, Learnt.nothing()):
        pairs = [(batch.columns[k][rows], rough.columns[k]) for k in ("m_support", "m_field", "w_unit")]
        pairs.append((batch.shares["share"][rows].max(axis=1), rough.shares["share"].max(axis=1)))
        logs[rows] = np.stack([_log(a, b) for a, b in pairs], axis=1)
    return learnt.plus(family, at.astype(float), logs)


def _log(solved: Array, rough: Array) -> Array:
    """Logarithm of the ratio, 0 where there is none."""
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.log(solved / rough)
    return np.where(np.isfinite(u), u, 0.0)
