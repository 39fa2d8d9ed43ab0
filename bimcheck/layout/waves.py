"""The stage: waves of rising anchor count until every panel passes or no pattern is left.

    selected = run(tables, settings, solve, evaluate, checks)

solve answers for layouts (jobs.Solve), evaluate runs the rules of phase "wave"; both are handed in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, Tables
from bimcheck.layout.batch import Batch, Index, join
from bimcheck.layout.choice import Choice, scope, settled, shared
from bimcheck.layout.classes import Classes, classes_of
from bimcheck.layout.final import selected_tables
from bimcheck.layout.jobs import Evaluate, Solve
from bimcheck.layout.judge import Judge
from bimcheck.layout.keep import Kept, proven
from bimcheck.layout.marks import drilled_alike
from bimcheck.layout.parts import cores, in_parts
from bimcheck.layout.patterns import Pattern, parse, waves
from bimcheck.layout.proposals import Restate
from bimcheck.layout.prove import SKIP, TRIANGLE, Run, load_of, wave
from bimcheck.layout.search import groups
from bimcheck.layout.settings import Layout
from bimcheck.layout.small import small_pieces
from bimcheck.layout.way_out import WayOut, ways_out

Progress = Callable[[str], None]
ALONE = 400  # classes below which a second process does not pay
CLASSES_AT_ONCE = 2100  # classes that are searched together: more take more memory, fewer more calls


@dataclass(frozen=True)
class Selected:
    """What layout hands on.

    tables: panels with layout columns, layouts, candidates (one a panel that has a layout, its best where none passes)
    and anchors.  standardisation: what sharing costs and saves.  counts: classes, sites, layouts solved.
    """

    tables: Tables
    standardisation: Table
    counts: Mapping[str, int]


@dataclass(frozen=True)
class _State:
    """Layouts solved so far by anchor count, and what is chosen from them."""

    batches: Mapping[int, Batch]
    choice: Choice

    def of(self, classes: Classes) -> _State:
        """The same with other classes under it: none while it travels between processes."""
        return _State({n: replace(b, classes=classes) for n, b in self.batches.items()}, self.choice)

    def plus(self, other: _State, rows: Index) -> _State:
        """With what another search has found for the panels `rows`."""
        batches, choice = dict(self.batches), self.choice
        for n, batch in other.batches.items():
            own = rows[other.choice.n[rows] == n]
            offset = len(batches[n]) if n in batches else 0
            batches[n] = join(batches[n], batch) if n in batches else batch
            choice = choice.put(own, {"n": other.choice.n[own], "layout": other.choice.layout[own] + offset,
                                      "u": other.choice.u[own], "known": other.choice.known[own]})
        return _State(batches, choice)


def run(tables: Tables, settings: Layout, solve: Solve, evaluate: Evaluate, checks: Mapping[str, Sequence[str]],
        progress: Progress = lambda text: None, *, spring: float = 10e3, misfit: bool = False, kept: Kept | None = None,
        restate: Restate | None = None, processes: int | None = None) -> Selected:
    """Choose a layout for every panel.

    tables: panels and facades.  checks: names of the check columns that count, by table ("candidates", "anchors").
    spring: stiffness of one support in N/mm.  misfit: also forces by an error of any one support.  kept: positions that are
    drilled already (keep.Kept); panels with such get no other candidate.  restate: runs the rules of phase "panels" on
    changed panels, to prove what would help those that fail.  Reads of panels: width, height, outline, net_area, D, nu, t_min, undercut_radius,
    edge_min_item, spacing_min_item; rails_y, keep_out, facade_index, storey, zone where there.
    """
    panels = tables["panels"]
    facades = tables.get("facades", Table("facades", 0, {}))
    cls, classes = classes_of(panels, settings, spring, misfit)
    judge = Judge(panels, facades, evaluate, checks.get("candidates", ()), checks.get("anchors", ()))
    this = Run(judge, classes, cls, load_of(panels), settings, solve)
    reason, free = small_pieces(this, panels)
    state = _State({}, Choice.none(panels.n))
    if kept is not None:
        state = _with_kept(this, state, kept)
        free &= ~kept.there & (kept.unclear == "")
        reason = kept.reasons(reason)
    state = _searched(this, state, np.flatnonzero(free), progress, processes or cores())
    group = np.where(free, scope(panels, cls, settings.standardise), -1 - np.arange(panels.n))
    choice, curve = shared(judge, state.batches, state.choice, group, settings.standardise_cost, drilled_alike(panels))
    state = _State(state.batches, choice)
    out = _ways_out(this, state, free, restate)
    counts = {"classes": len(classes), "sites": len({id(c.site) for c in classes}),
              "layouts_solved": sum(len(b) for b in state.batches.values())}
    fixed = np.zeros(panels.n, dtype=bool) if kept is None else kept.there
    return Selected(selected_tables(judge, state.batches, choice, reason, fixed, out), curve, counts)


def _searched(this: Run, state: _State, rows: Index, progress: Progress, processes: int) -> _State:
    """All waves, a part of the classes after the other: the parts are the same however many processes share them."""
    parts = _parts(this, rows)
    def one(part: Index) -> _State:
        fresh = _State({}, Choice.none(this.judge.panels.n))
        return search(this, fresh, part, progress if len(parts) == 1 else lambda text: None).of(Classes(()))
    if len(parts) > 1:
        progress(f"{len(rows)} panels in {len(parts)} parts")
    for part, found in zip(parts, in_parts(one, parts, processes, progress), strict=True):
        state = state.plus(found.of(this.classes), part)
    return state


def _parts(this: Run, rows: Index) -> list[Index]:
    """Panels in parts of some hundred classes, an even number of them; panels of one size together, they share plates."""
    classes = len(np.unique(this.cls[rows]))
    if classes <= ALONE:
        return [rows]
    count = 2 * -(-classes // (2 * CLASSES_AT_ONCE))
    sides = np.sort(np.round(this.classes.size, 1), axis=1)
    size = np.unique(sides, axis=0, return_inverse=True)[1].ravel()
    return [rows[part] for _, part in groups(size[this.cls[rows]] % count)]


def search(this: Run, state: _State, rows: Index, progress: Progress) -> _State:
    """All waves on the panels `rows`.

    Panels that no wave was worth solving for are then tried on the most anchors that fit; only those that hold there go
    through the other waves again, unskipped.
    """
    steps = _steps(this, [parse(p) for p in this.settings.patterns])
    state = _waves(this, state, rows, steps, SKIP, progress)
    hopeless = rows[state.choice.n[rows] == 0]
    for step in reversed(steps):
        left = hopeless[state.choice.n[hopeless] == 0]
        state = _waves(this, state, left, [step], np.inf, progress) if len(left) else state
    held = hopeless[settled(state.choice)[hopeless]]
    if not len(held):
        return state
    again = _waves(this, _State(state.batches, state.choice.without(held)), held, steps, np.inf, progress)
    return again


def _waves(this: Run, state: _State, left: Index, steps: Sequence[tuple[int, list[Pattern]]], skip: float, progress: Progress) -> _State:
    for n, patterns in steps:
        left = left[~settled(state.choice)[left]]
        if not len(left):
            break
        progress(f"{n} anchors: {len(left)} panels")
        state = _step(this, state, left, n, patterns, skip)
    return state


def _steps(this: Run, patterns: Sequence[Pattern]) -> list[tuple[int, list[Pattern]]]:
    triangles = this.settings.triangles_on_three and any(c.site.triangle for c in this.classes)
    return [*([(3, [TRIANGLE])] if triangles else []), *waves(patterns, this.settings.least_anchors)]


def _step(this: Run, state: _State, pending: Index, n: int, patterns: Sequence[Pattern], skip: float) -> _State:
    proof = wave(this, pending, n, patterns, skip)
    if proof is None:
        return state
    old = state.batches.get(n)
    batches = {**state.batches, n: proof.batch if old is None else join(old, proof.batch)}
    return _State(batches, state.choice.improved(proof, 0 if old is None else len(old)))


def _with_kept(this: Run, state: _State, kept: Kept) -> _State:
    for proof in proven(this, kept):
        state = _State({**state.batches, proof.batch.n: proof.batch}, state.choice.improved(proof, 0))
    return state


def _ways_out(this: Run, state: _State, free: NDArray[np.bool_], restate: Restate | None) -> WayOut:
    failing = np.flatnonzero(~settled(state.choice) & (state.choice.n > 0))
    def next_rows(rows: Index, patterns: Sequence[Pattern]) -> tuple[Choice, Mapping[int, Batch]]:
        fresh = _State({}, Choice.none(this.judge.panels.n))
        for n, some in waves(patterns):
            left = rows[~settled(fresh.choice)[rows]]
            fresh = _step(this, fresh, left, n, some, SKIP) if len(left) else fresh
        return fresh.choice, fresh.batches
    return ways_out(this, state.batches, state.choice, failing, free, next_rows, restate)
