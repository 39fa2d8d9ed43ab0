"""What is chosen: a layout for each panel, and how panels of a kind share layouts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.layout.batch import Batch, Index
from bimcheck.layout.judge import Judge
from bimcheck.layout.prove import Proof
from bimcheck.layout.search import groups

CURVE = (0.0, 0.02, 0.05, 0.1, 0.2, 0.5)  # shares of anchors for which the cost of sharing is reported
_ROWS = 1 << 32  # more than there are layouts of one count
MOST_SHARED = 24  # layouts of one group that are considered for sharing, the most used ones


@dataclass(frozen=True)
class Choice:
    """A layout a panel: n (0 where there is none) and row in the batch of that count; its utilisation and verdict."""

    n: Index
    layout: Index
    u: Array
    known: NDArray[np.bool_]

    @property
    def passes(self) -> NDArray[np.bool_]:
        return self.known & (self.u <= 1 + 1e-9) & (self.n > 0)

    @staticmethod
    def none(panels: int) -> Choice:
        zero = np.zeros(panels, dtype=np.int64)
        return Choice(zero, zero.copy(), np.full(panels, np.nan), np.zeros(panels, dtype=bool))

    def improved(self, proof: Proof, offset: int) -> Choice:
        """With the best candidates of a wave where they pass, or fail by less than what was there.

        A panel whose checks can be computed on no layout keeps the first one whose computable checks hold.
        """
        best = proof.best()
        panel, u, known = proof.panel[best], proof.u[best], proof.known[best]
        old_rank = np.where(self.n[panel] == 0, np.inf, _rank(self.u[panel], self.known[panel]))
        better = _rank(u, known) < old_rank
        rows, best = panel[better], best[better]
        new = {"n": np.full(len(rows), proof.batch.n), "layout": proof.layout[best] + offset, "u": proof.u[best], "known": proof.known[best]}
        return self.put(rows, new)

    def without(self, rows: Index) -> Choice:
        """Nothing chosen for the rows."""
        return self.put(rows, {"n": np.zeros(len(rows), dtype=np.int64), "u": np.full(len(rows), np.nan), "known": np.zeros(len(rows), dtype=bool)})

    def put(self, rows: Index, values: Mapping[str, NDArray]) -> Choice:
        columns = {k: getattr(self, k).copy() for k in ("n", "layout", "u", "known")}
        for k, v in values.items():
            columns[k][rows] = v
        return Choice(**columns)


def _rank(u: Array, known: NDArray[np.bool_]) -> Array:
    return np.minimum(u, 1e3) + np.where(known, 0.0, 1e4)


def settled(choice: Choice) -> NDArray[np.bool_]:
    """Panels that need no further wave: they pass, or all that can be computed holds and the rest never can."""
    return choice.passes | (~choice.known & (choice.u <= 1 + 1e-9) & (choice.n > 0))


def shared(judge: Judge, batches: Mapping[int, Batch], choice: Choice, group: Index, cost: float, alike: Index) -> tuple[Choice, Table]:
    """Let the passing panels of a group share layouts where this costs at most `cost` of the group's anchors.

    group (n,): panels with the same number may share.  alike (n,): panels with the same number differ, for the shop, by
    their holes only.  Returns the new choice and the curve: what other costs would give, a row each with cost, layouts,
    marks, anchors, mean and greatest utilisation; the first row is without sharing.
    """
    trials = _trials(judge, batches, choice, group)
    curve = {c: _spend(trials, choice, picks) for c, picks in _covers(trials, choice, sorted({*CURVE, cost})).items()}
    return curve[cost], _curve(choice, curve, _drilled(batches, alike), cost)


@dataclass(frozen=True)
class _Trial:
    """One group: its panels (p,), layouts as (n, row) pairs (l, 2), and utilisations (p, l), inf where not passing.

    free: the layout of each panel where all have as many anchors, so that sharing costs none.
    """

    panels: Index
    layouts: Index
    u: Array
    free: Index | None = None


def _trials(judge: Judge, batches: Mapping[int, Batch], choice: Choice, group: Index) -> list[_Trial]:
    """Judge the panels of each group on all layouts that panels of it have chosen."""
    passing = np.flatnonzero(choice.passes)
    found = []
    codes = _code(choice)[passing]
    for _, rows in groups(group[passing]):
        kinds, counts = np.unique(codes[rows], return_counts=True)
        if len(kinds) > 1:
            most = kinds[np.sort(np.argsort(-counts, kind="stable")[:MOST_SHARED])]
            found.append((passing[rows], np.column_stack(np.divmod(most, _ROWS))))
    grids = [np.full((len(p), len(kinds)), np.inf) for p, kinds in found]
    for n, batch in batches.items():
        asked = [(k, i) for k, (_, kinds) in enumerate(found) for i in np.flatnonzero(kinds[:, 0] == n).tolist()]
        if not asked:
            continue
        panel = np.concatenate([found[k][0] for k, _ in asked])
        layout = np.repeat([found[k][1][i, 1] for k, i in asked], [len(found[k][0]) for k, _ in asked])
        verdict = judge.of(batch, panel, layout)
        u = np.where(verdict.passes, verdict.u, np.inf)
        cuts = np.cumsum([len(found[k][0]) for k, _ in asked])[:-1]
        for (k, i), part in zip(asked, np.split(u, cuts), strict=True):
            grids[k][:, i] = part
    trials = [_Trial(p, kinds, u) for (p, kinds), u in zip(found, grids, strict=True)]
    return [replace(t, free=_cover(t, choice.n[t.panels], 0.0)) if np.ptp(t.layouts[:, 0]) == 0 else t for t in trials]


def _covers(trials: list[_Trial], choice: Choice, costs: Sequence[float]) -> dict[float, list[Index]]:
    """The layouts of each trial by cost, costs rising: what costs more is taken only where it leaves fewer layouts in all.

    A layout that another trial (of another facade, say) still uses is not saved.
    """
    found: dict[float, list[Index]] = {}
    first = [t.free if t.free is not None else _cover(t, choice.n[t.panels], 0.0) for t in trials]
    best, users = list(first), _users(trials, choice, first)
    for c in costs:
        for k, t in enumerate(trials):
            if t.free is not None or c == 0.0:
                continue
            new = _cover(t, choice.n[t.panels], c)
            before, after = Counter(_picked(t, best[k])), Counter(_picked(t, new))
            saved = sum(users[code] == n and code not in after for code, n in before.items())
            added = sum(not users[code] for code in after)
            if added < saved:
                best[k] = new
                users.subtract(before)
                users.update(after)
        found[c] = list(best)
    return found


def _picked(trial: _Trial, pick: Index) -> list[int]:
    """Code of each panel's layout."""
    n, row = trial.layouts[pick].T
    return (n * _ROWS + row).tolist()


def _users(trials: Sequence[_Trial], choice: Choice, picks: Sequence[Index]) -> Counter[int]:
    """Number of passing panels by code of their layout."""
    code = _code(choice)
    for t, pick in zip(trials, picks, strict=True):
        code[t.panels] = _picked(t, pick)
    return Counter(code[choice.passes].tolist())


def _spend(trials: list[_Trial], choice: Choice, picks: Sequence[Index]) -> Choice:
    """The choice with the layouts picked for the panels of each trial."""
    if not trials:
        return choice
    layouts = np.concatenate([t.layouts[p] for t, p in zip(trials, picks, strict=True)])
    u = np.concatenate([t.u[np.arange(len(p)), p] for t, p in zip(trials, picks, strict=True)])
    panels = np.concatenate([t.panels for t in trials])
    ok = np.isfinite(u)
    return choice.put(panels[ok], {"n": layouts[ok, 0], "layout": layouts[ok, 1], "u": u[ok]})


def _code(choice: Choice) -> Index:
    """(n,) one number for anchor count and layout."""
    return choice.n * _ROWS + choice.layout


def _cover(trial: _Trial, n: Index, cost: float) -> Index:
    """Layout of each panel of a trial: few layouts, anchors at most (1 + cost) times those of the panels' own choice.

    Greedy from the layouts that serve the most panels; a layout with more anchors than a panel needs may serve it as
    long as the budget of extra anchors lasts.
    """
    extra = trial.layouts[:, 0] - n[:, None]
    serves = np.isfinite(trial.u)
    budget = cost * n.sum() + 1e-9
    pick, open_ = np.full(len(n), -1), np.ones(len(n), dtype=bool)
    while open_.any():
        costs = np.where(serves & open_[:, None], np.maximum(extra, 0), np.inf)
        order = np.argsort(costs, axis=0, kind="stable")
        sums = np.cumsum(np.take_along_axis(costs, order, axis=0), axis=0)
        count = np.sum(sums <= budget, axis=0)
        spent = np.where(count > 0, sums[np.maximum(count, 1) - 1, np.arange(len(count))], 0.0)
        if not count.max():
            break
        mean = np.array([trial.u[order[:c, k], k].mean() if c else np.inf for k, c in enumerate(count)])
        best = int(np.lexsort((np.round(mean, 9), spent, -count))[0])
        rows = order[: count[best], best]
        pick[rows], open_[rows] = best, False
        budget -= spent[best]
    own = np.argmin(np.where(serves, extra * 1e3 + trial.u, np.inf), axis=1)
    return np.where(pick < 0, own, pick)


def _drilled(batches: Mapping[int, Batch], alike: Index) -> Callable[[Choice, Index], int]:
    """Counts drilling marks: panels alike whose holes lie alike to a tenth of a millimetre."""
    same = {n: np.unique(np.round(b.points.reshape(len(b), -1), 1), axis=0, return_inverse=True)[1].ravel() for n, b in batches.items()}

    def count(choice: Choice, rows: Index) -> int:
        holes = np.zeros(len(rows), dtype=np.int64)
        for n in np.unique(choice.n[rows]).tolist():
            mine = choice.n[rows] == n
            holes[mine] = same[n][choice.layout[rows][mine]]
        return len(np.unique(np.column_stack([alike[rows], choice.n[rows], holes]), axis=0))
    return count


def _curve(single: Choice, curve: Mapping[float, Choice], marks: Callable[[Choice, Index], int], chosen: float) -> Table:
    rows = [("each panel its own", np.nan, single), *((f"{100 * c:g} %", c, v) for c, v in curve.items())]
    ok = [np.flatnonzero(v.passes) for *_, v in rows]
    return Table("standardisation", len(rows), {
        "sharing": np.array([r[0] for r in rows], dtype=object), "cost": np.array([r[1] for r in rows]),
        "chosen": np.array([r[1] == chosen for r in rows]),
        "layouts": np.array([len(np.unique(_code(v)[k])) for (*_, v), k in zip(rows, ok, strict=True)]),
        "marks": np.array([marks(v, k) for (*_, v), k in zip(rows, ok, strict=True)]),
        "anchors": np.array([int(v.n[k].sum()) for (*_, v), k in zip(rows, ok, strict=True)]),
        "u_mean": np.array([v.u[k].mean() if len(k) else np.nan for (*_, v), k in zip(rows, ok, strict=True)]),
        "u_max": np.array([v.u[k].max() if len(k) else np.nan for (*_, v), k in zip(rows, ok, strict=True)]),
    })


def scope(panels: Table, cls: Index, within: str) -> Index:
    """(n,) number of the group of panels that may share layouts: class, and storey, zone or facade; -1 never shares."""
    if within == "none":
        return np.arange(panels.n)
    columns = {"storey": ("facade_index", "storey"), "zone": ("facade_index", "zone"), "facade": ("facade_index",), "building": ()}[within]
    keys = np.column_stack([cls, *(np.unique(panels[c].astype(str) if panels[c].dtype == object else panels[c], return_inverse=True)[1].ravel()
                                   for c in columns if c in panels)])
    return np.unique(keys, axis=0, return_inverse=True)[1].ravel()


