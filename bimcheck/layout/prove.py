"""One wave: rank by estimates, prove the few best layouts of a shape on the plate, judge every panel on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, segment
from bimcheck.core.units import Array
from bimcheck.layout.batch import Batch, Index, join, solved
from bimcheck.layout.classes import Class, Classes
from bimcheck.layout.families import Family, Listed, family, preferred_steps
from bimcheck.layout.jobs import Solve
from bimcheck.layout.judge import UNKNOWN, Judge
from bimcheck.layout.learnt import Learnt
from bimcheck.layout.patterns import Pattern
from bimcheck.layout.polygons import triangles
from bimcheck.layout.search import (
    Agents,
    Field,
    around,
    first_of,
    first_strides,
    learn,
    look,
    ranked,
    start,
    walk,
)
from bimcheck.layout.settings import Layout

SKIP = 1.35  # estimated utilisation above which a wave is not worth solving: estimates are within a fifth
RIVAL = 1.12  # families estimated worse than the best of a panel by more than this are left out
CLOSE = 1.06  # a panel that fails by less is worth another look
FULL_TURNS = 2  # walks of all agents after the first proofs; then only panels that just fail are looked at
MORE = 3  # neighbours of the best position that are then proven each time
TIGHT, TIGHT_MORE = 0.8, 0.7  # estimate above which neighbours of the best position are proven too: up to four anchors, whose
# reactions follow from statics, and more, whose estimates err by more
GAIN = 1e-3  # promised gain below which another position is not solved
_AGAIN = (2, 1)  # strides, in positions, of the walks after the first
Flags = NDArray[np.bool_]
TRIANGLE: Pattern = (3, 0)  # pattern of three anchors on a triangle: no grid


@dataclass(frozen=True)
class Proof:
    """Layouts proven so far for one anchor count, and their candidates.

    batch: solved layouts.  panel, layout, u, known, rank, preferred (c,): a candidate each.
    """

    batch: Batch
    panel: Index
    layout: Index
    u: Array
    known: Flags
    rank: Array
    preferred: Flags

    @property
    def passes(self) -> Flags:
        return self.known & (self.u <= 1 + 1e-9)

    def best(self) -> Index:
        """Row of the best candidate of each panel that has one, by rising panel: passing, preferred, least utilisation."""
        return first_of(self.panel, ~self.passes, ~self.preferred, self.rank)

    def plus(self, other: Proof) -> Proof:
        rows = ("panel", "layout", "u", "known", "rank", "preferred")
        moved = {k: getattr(other, k) + (len(self.batch) if k == "layout" else 0) for k in rows if k not in ("known", "preferred")}
        moved |= {k: getattr(other, k) for k in ("known", "preferred")}
        return Proof(join(self.batch, other.batch), **{k: np.concatenate([getattr(self, k), moved[k]]) for k in rows})


@dataclass(frozen=True)
class Run:
    """Everything a wave needs beside its pattern: fixed during a run."""

    judge: Judge
    classes: Classes
    cls: Index  # class of each panel
    load: Array  # greatest pressure on each panel, for choosing who stands for a class
    settings: Layout
    solve: Solve


def wave(run: Run, pending: Index, n: int, patterns: Sequence[Pattern], skip: float) -> Proof | None:
    """Prove layouts of n anchors for the pending panels; None where no layout fits or none is worth solving."""
    field = _field(run, pending, patterns)
    if not field.families:
        return None
    agents = _worth(field, _agents(run, field, pending, n), skip)
    if not len(agents):
        return None
    chosen = _positions(agents, _preferred(run, field, agents, n))
    near = agents.take(np.flatnonzero(np.mod(agents.rank, UNKNOWN) > (TIGHT if n <= 4 else TIGHT_MORE)))
    room = run.settings.solved_per_wave - np.bincount(chosen[:, 0], minlength=len(field.families))
    chosen = np.concatenate([chosen, _fill(field, near, chosen, n, Learnt.nothing(), room)])
    proof: Proof | None = None
    learnt = Learnt.nothing()
    done = np.empty((0, 3), dtype=np.int64)
    for turn in range(2 + run.settings.refinements):
        new = chosen[~np.isin(_codes(chosen), _codes(done))]
        if len(new):
            done = np.concatenate([done, new])
            part, learnt = _prove(run, field, pending, n, new, learnt)
            proof = part if proof is None else proof.plus(part)
        elif turn > FULL_TURNS:
            break
        assert proof is not None
        again = agents if turn < FULL_TURNS else _close(field, proof, done)
        if turn != FULL_TURNS:  # the others would do as before
            again = again.take(np.flatnonzero(np.isin(field.owner[again.family], field.owner[new[:, 0]])))
        agents = walk(field, _reranked(field, again, n, learnt), n, learnt, [np.full((len(again), 2), s) for s in _AGAIN])
        chosen = _positions(_promising(agents, proof))
        if turn >= FULL_TURNS:
            more = _fill(field, again, np.concatenate([done, chosen]), n, learnt, np.full(len(field.families), MORE))
            chosen = np.concatenate([chosen, more])
    return proof


def _codes(positions: Index) -> Index:
    """One number for family, ix and iy (k, 3)."""
    return positions @ np.array([1 << 40, 1 << 20, 1])


def _fill(field: Field, agents: Agents, taken: Index, n: int, learnt: Learnt, room: Index) -> Index:
    """The best neighbours (k, 3) of the agents' positions that are not taken, as many as there is room (f,) for in a family.

    Near the optimum estimates differ by less than they err, so that a few neighbours are worth a solution each.
    """
    at, rank = around(field, agents, n, learnt)
    free = np.flatnonzero(np.isfinite(rank) & ~np.isin(_codes(at), _codes(taken)))
    free = free[first_of(_codes(at[free]), rank[free])]
    order = np.lexsort((_codes(at[free]), rank[free], at[free, 0]))
    of = at[free[order], 0]
    place = np.arange(len(of)) - np.searchsorted(of, of)
    return at[free[order[place < room[of]]]]


def _promising(agents: Agents, proof: Proof) -> Agents:
    """Agents whose walk promises to better what is proven for their panel."""
    return agents.take(np.flatnonzero(agents.rank < _best_of(proof)[agents.panel] * (1 - GAIN)))


def _best_of(proof: Proof) -> Array:
    """Least rank of each panel row, inf where it has no candidate."""
    return segment(np.minimum, proof.rank, proof.panel, int(proof.panel.max()) + 1, np.inf)


def _field(run: Run, pending: Index, patterns: Sequence[Pattern]) -> Field:
    found: list[tuple[int, Family | Listed]] = []
    for c in np.unique(run.cls[pending]).tolist():
        for p in patterns:
            one = _listed(run.classes[c]) if p == TRIANGLE else family(run.classes[c], p, run.settings)
            if one is not None:
                found.append((c, one))
    return Field(run.judge, run.classes, [f for _, f in found], np.array([c for c, _ in found], dtype=np.int64))


def _listed(cls: Class) -> Listed | None:
    points = triangles(cls.site, float(cls.edge.max())) if cls.site.triangle else np.empty((0, 3, 2))
    return Listed(cls, TRIANGLE, points) if len(points) else None


def _agents(run: Run, field: Field, pending: Index, n: int) -> Agents:
    """The most loaded pending panel of each class, on each of its families; the least loaded too where it fails."""
    rows = pending[np.lexsort((pending, run.load[pending], run.cls[pending]))]
    last = np.flatnonzero(np.r_[np.diff(run.cls[rows]) != 0, True])
    place = np.searchsorted(run.cls[rows[last]], field.owner)
    most, least = rows[last][place], rows[np.r_[0, last[:-1] + 1]][place]
    every = np.arange(len(field.families))
    found = _walked(field, most, every, n)
    fails = np.mod(found.rank, UNKNOWN) > 1
    light = found.family[fails & (most != least)[found.family]]
    return found.plus(_walked(field, least[light], light, n)) if len(light) else found


def _walked(field: Field, panel: Index, family_of: Index, n: int) -> Agents:
    first = start(field, panel, family_of, n, twice=True)
    found = walk(field, first, n, Learnt.nothing(), first_strides(field, first))
    return found.take(first_of(found.panel * len(field.families) + found.family, found.rank))


def _worth(field: Field, agents: Agents, skip: float) -> Agents:
    """Agents that may pass and are no worse than the best of their panel by much."""
    u = np.mod(agents.rank, UNKNOWN)
    u = np.where(np.isfinite(agents.rank), u, np.inf)
    rival = segment(np.minimum, u, agents.panel, int(agents.panel.max(initial=0)) + 1, np.inf)[agents.panel] * RIVAL
    return agents.take(np.flatnonzero((u <= skip) & (u <= rival) & np.isfinite(u)))


def _preferred(run: Run, field: Field, agents: Agents, n: int) -> Agents | None:
    """The best preferred insets of each agent's family, where the project prefers some."""
    if not run.settings.preferred_insets_mm or not len(agents):
        return None
    wanted = run.settings.preferred_insets_mm
    has = np.array([len(preferred_steps(f, wanted)[0]) > 0 for f in field.families], dtype=bool)
    rows = np.flatnonzero(has[agents.family])
    if not len(rows):
        return None
    found = start(field, agents.panel[rows], agents.family[rows], n, lambda f: preferred_steps(f, wanted))
    return found.take(np.flatnonzero(np.isfinite(found.rank)))


def _positions(*several: Agents | None) -> Index:
    """(k, 3) family, ix and iy of agents, each once, in a fixed order."""
    found = np.concatenate([np.column_stack([a.family, a.at]) for a in several if a is not None])
    return found[np.unique(_codes(found), return_index=True)[1]]


def _prove(run: Run, field: Field, pending: Index, n: int, new: Index, learnt: Learnt) -> tuple[Proof, Learnt]:
    """Solve positions (k, 3) and judge every pending panel of their classes on them."""
    f, at = new[:, 0], new[:, 1:]
    kinds = np.array([field.families[k].pattern for k in f.tolist()], dtype=np.int64).reshape(-1, 2)
    batch = solved(field.classes, field.owner[f], kinds, field.points(f, at, n), run.solve)
    panel, layout = pairs(run.cls, pending, batch.cls)
    verdict = run.judge.of(batch, panel, layout)
    wanted = np.array([_is_preferred(field, run.settings, *p) for p in new.tolist()], dtype=bool)
    proof = Proof(batch, panel, layout, verdict.u, verdict.known, ranked(verdict, batch, layout), wanted[layout])
    return proof, learn(field, batch, f, at, learnt)


def _is_preferred(field: Field, settings: Layout, f: int, ix: int, iy: int) -> bool:
    if not settings.preferred_insets_mm:
        return False
    i, j = preferred_steps(field.families[f], settings.preferred_insets_mm)
    return bool(np.any((i == ix) & (j == iy)))


def pairs(cls: Index, pending: Index, layout_cls: Index) -> tuple[Index, Index]:
    """Every pending panel with every layout of its class: rows of panels and of layouts."""
    by_class = np.argsort(layout_cls, kind="stable")
    first = np.searchsorted(layout_cls[by_class], cls[pending], side="left")
    counts = np.searchsorted(layout_cls[by_class], cls[pending], side="right") - first
    panel = np.repeat(pending, counts)
    within = np.arange(len(panel)) - np.repeat(np.cumsum(counts) - counts, counts)
    return panel, by_class[np.repeat(first, counts) + within]


def _reranked(field: Field, agents: Agents, n: int, learnt: Learnt) -> Agents:
    """Agents where they stand, ranked by what has been learnt."""
    rank = look(field, agents.panel, agents.family, agents.at, n, learnt)
    return Agents(agents.family, agents.panel, agents.ix, agents.iy, rank)


def _close(field: Field, proof: Proof, done: Index) -> Agents:
    """Agents for panels that just fail, two a class at most, at the best position of each family they have been proven on.

    done (l, 3): the positions of the proven layouts.
    """
    best = proof.best()
    near = best[proof.known[best] & (proof.u[best] > 1) & (proof.u[best] <= CLOSE)]
    cls = proof.batch.cls[proof.layout[near]]
    lead = first_of(cls, proof.u[near])
    rest = np.setdiff1d(np.arange(len(near)), lead)
    second = rest[first_of(cls[rest], proof.u[near][rest])]
    chosen = proof.panel[near[np.concatenate([lead, second])]]
    rows = np.flatnonzero(np.isin(proof.panel, chosen))
    panel, family_of = proof.panel[rows], done[proof.layout[rows], 0]
    rows = rows[first_of(panel * len(field.families) + family_of, proof.rank[rows])]
    f, ix, iy = done[proof.layout[rows]].T
    return Agents(f, proof.panel[rows], ix, iy, np.full(len(rows), np.inf))


def load_of(panels: Table) -> Array:
    """Greatest pressure either way, where panels have one."""
    parts = [np.abs(panels[k]) for k in ("w_suction", "w_pressure") if k in panels]
    return np.nan_to_num(np.max(parts, axis=0)) if parts else np.zeros(panels.n)
