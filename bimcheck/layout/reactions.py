"""Anchors by rail: one facade and height of a row, for what a rail has to carry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import Array

Index = NDArray[np.int64]
_APART = 1 << 40  # more than there are millimetres of height
_HIGH = 1 << 39


@dataclass(frozen=True)
class Rails:
    """m rails, by facade and rising height.  facade, height (mm, whole), anchors: (m,) each.

    order: anchors sorted by rail and panel; pair_rail, pair_panel (k,): the rail and panel of each pair that meet; the rest says
    where pairs begin among the sorted anchors and rails among anchors and pairs.
    """

    facade: Index
    height: Array
    anchors: Index
    order: Index
    pair_rail: Index
    pair_panel: Index
    pairs_at: Index
    rails_at: Index
    rails_of_pairs_at: Index

    def __len__(self) -> int:
        return len(self.facade)

    def most(self, values: Array) -> Array:
        """(m, c) greatest of values (n, c) over the anchors of each rail."""
        return np.maximum.reduceat(values[self.order], self.rails_at, axis=0)

    def panel_most(self, values: Array) -> Array:
        """(m, c) greatest, over the panels on each rail, of the sum of values (n, c) of one panel's anchors there."""
        return np.maximum.reduceat(np.add.reduceat(values[self.order], self.pairs_at, axis=0), self.rails_of_pairs_at, axis=0)

    def of_pairs(self, values: NDArray) -> Index:
        """(m,) sum over the panels on each rail of a whole number or flag (panels,)."""
        return np.add.reduceat(values[self.pair_panel].astype(np.int64), self.rails_of_pairs_at)


def rails(panel: Index, height: Array, facade: Index) -> Rails:
    """Rails of anchors, at least one: panel (n,), height (n,) of the anchor's row in mm, facade (n,).  Heights are rounded to 1 mm."""
    code = facade.astype(np.int64) * _APART + np.round(height).astype(np.int64) + _HIGH
    keys, rail = np.unique(code, return_inverse=True)
    rail = rail.ravel()
    order = np.lexsort((panel, rail))
    sorted_rail, sorted_panel = rail[order], panel[order]
    new_rail = np.r_[True, np.diff(sorted_rail) != 0]
    new_pair = new_rail | np.r_[True, np.diff(sorted_panel) != 0]
    pairs_at = np.flatnonzero(new_pair)
    pair_rail = sorted_rail[pairs_at]
    return Rails(keys // _APART, (keys % _APART - _HIGH).astype(float), np.bincount(rail, minlength=len(keys)), order, pair_rail, sorted_panel[pairs_at],
                 pairs_at, np.flatnonzero(new_rail), np.flatnonzero(np.r_[True, np.diff(pair_rail) != 0]))
