"""Anchors of many layouts, those that layouts of a plate share kept once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.plate.hermite import Array, Index


@dataclass(frozen=True)
class Layouts:
    """Anchors of m layouts in plate units: points[which[offsets[i]:offsets[i + 1]]] are those of layout i.

    counts: (m,) anchors; owner: (anchors,) layout of each; apart: (anchors,) distance to the nearest other one.
    """

    points: Array
    which: Index
    offsets: Index
    counts: Index
    owner: Index
    apart: Array

    def of_count(self, n: int) -> tuple[Index, Index]:
        """Layouts with n anchors and (k, n) positions of these among all anchors."""
        rows = np.flatnonzero(self.counts == n)
        return rows, self.offsets[rows][:, None] + np.arange(n)
