"""Rows of numbers that are equal."""

from __future__ import annotations

import numpy as np

from bimcheck.clash.places import Floats, Ints


def kinds(rows: Floats) -> tuple[Ints, Ints]:
    """First of each kind of row (n, k), and the kind of every row.  Sorted by one number a row; that rows of one number
    are equal is seen to."""
    _, first, of = np.unique(rows @ np.sqrt(np.arange(2.0, 2.0 + rows.shape[1])), return_index=True, return_inverse=True)
    of = of.ravel()
    if not (rows[first[of]] == rows).all():
        _, first, of = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    return first, of.ravel()
