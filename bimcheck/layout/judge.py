"""Judging candidates: the checks handed in, reduced to one utilisation a candidate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, Tables
from bimcheck.core.units import Array
from bimcheck.layout.batch import Batch, Index, tables
from bimcheck.layout.jobs import Evaluate

MOST_ANCHORS = 60_000  # rows of `anchors` evaluated at once
PASS = 1.0 + 1e-9
UNKNOWN = 1e4  # added to the rank of what cannot be computed


@dataclass(frozen=True)
class Judge:
    """What candidates are judged by.

    evaluate adds check columns to candidates and anchors; on_candidates, on_anchors name those that count.
    """

    panels: Table
    facades: Table
    evaluate: Evaluate
    on_candidates: Sequence[str]
    on_anchors: Sequence[str]

    def of(self, batch: Batch, panel: Index, layout: Index) -> Verdict:
        """Verdict on pairs of panel row and layout of the batch."""
        step = max(1, MOST_ANCHORS // max(batch.n, 1))
        parts = [self._part(batch, panel[i : i + step], layout[i : i + step]) for i in range(0, len(panel), step)]
        if not parts:
            return Verdict(np.empty(0), np.empty(0, dtype=bool))
        return Verdict(*(np.concatenate([getattr(p, k) for p in parts]) for k in ("u", "known")))

    def _part(self, batch: Batch, panel: Index, layout: Index) -> Verdict:
        if len(layout) != len(batch) or (layout != np.arange(len(batch))).any():
            rows, layout = np.unique(layout, return_inverse=True)
            batch = batch.take(rows)
        return self.verdict(self.evaluate(tables(self.panels, self.facades, batch, panel, layout)))

    def verdict(self, done: Tables) -> Verdict:
        """Reduce the check columns of evaluated tables to a verdict a candidate."""
        candidates, anchors = done["candidates"], done["anchors"]
        u, known = np.full(candidates.n, -np.inf), np.ones(candidates.n, dtype=bool)
        for k in self.on_candidates:
            values = np.asarray(candidates[k], dtype=float)
            u, known = np.fmax(u, values), known & ~np.isnan(values)
        for k in self.on_anchors:
            for values in _by_slot(np.asarray(anchors[k], dtype=float), candidates.n):
                u, known = np.fmax(u, values), known & ~np.isnan(values)
        return Verdict(u, known)


@dataclass(frozen=True)
class Verdict:
    """u (m,): greatest utilisation of the checks that could be computed; known (m,): whether all could."""

    u: Array
    known: NDArray[np.bool_]

    @property
    def passes(self) -> NDArray[np.bool_]:
        return self.known & (self.u <= PASS)

    @property
    def rank(self) -> Array:
        """(m,) smaller is better: what cannot be computed comes after all that can."""
        return np.asarray(np.round(np.minimum(self.u, 1e3), 9) + np.where(self.known, 0.0, UNKNOWN), dtype=float)


def _by_slot(values: Array, candidates: int) -> Array:
    """(n, m) values of the anchors of m candidates, which stand one candidate after the other."""
    return values.reshape(candidates, -1).T if candidates else np.empty((0, 0))
