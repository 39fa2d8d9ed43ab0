"""Rows on rails."""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import Array
from bimcheck.layout.patterns import round_half_up

MOST_SETS = 12  # sets of rows looked at


def rows_on_rails(heights: Array, n: int, low: float, high: float, edge_max: float, spacing: float) -> Array:
    """(k, n) sets of row heights taken from `heights`, the most even ones first.

    low, high: permitted band.  edge_max: greatest distance of the outer rows from the ends of the panel, beyond which
    a set counts as uneven; empty where fewer than n rails lie in the band with enough spacing.
    """
    inside = np.sort(heights[(heights >= low - 1e-6) & (heights <= high + 1e-6)])
    if len(inside) < n:
        return np.empty((0, n))
    inside = np.concatenate([inside[:1], inside[1:][inside[1:] > inside[:-1]]])
    if len(inside) > 24:
        inside = inside[np.unique(np.linspace(0, len(inside) - 1, 24).round().astype(int))]
    sets = inside[_choices(len(inside), n)]
    sets = sets[(sets[:, 1:] - sets[:, :-1] >= spacing - 1e-6).all(axis=1)]
    if len(sets) < 2:
        return sets
    misfit = np.abs(sets - np.linspace(low, high, n)).max(axis=1)
    return sets[np.lexsort((sets[:, 0], np.round(misfit, 3)))][:MOST_SETS]


@lru_cache(maxsize=256)
def _choices(k: int, n: int) -> NDArray[np.int64]:
    """(m, n) all ways to take n of k places, rising."""
    return np.array(list(combinations(range(k), n)), dtype=np.int64).reshape(-1, n)


def heights(rails: Array, clip_offset: float, rounding: float) -> Array:
    """Heights of rows that hang on rails at `rails`."""
    return round_half_up(rails + clip_offset, rounding)
