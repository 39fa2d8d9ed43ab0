"""Plates in company: how many others lie in the same plane."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.found import PLATE, Found

STEP = 150.0  # mm; planes closer than about this are one
TURN = 0.02  # normals closer than about this are one


def company(found: Found) -> NDArray[np.int64]:
    """(n,) number of other plates with about the same plane and thickness; 0 where there is no plate."""
    out = np.zeros(found.n_rows, dtype=np.int64)
    rows = np.flatnonzero(found.state == PLATE)
    if not len(rows):
        return out
    n, t = found.n[rows], found.thickness[rows]
    major = np.take_along_axis(n, np.argmax(np.abs(n), axis=1)[:, None], axis=1)
    n = n * np.sign(major)
    middle = found.origin[rows] - t[:, None] / 2 * found.n[rows]
    middle = middle - middle.mean(axis=0)
    key = np.column_stack([np.round(n / TURN), np.round(np.einsum("ij,ij->i", n, middle) / STEP), np.round(t)]).astype(np.int64)
    _, group, count = np.unique(key, axis=0, return_inverse=True, return_counts=True)
    out[rows] = count[group.ravel()] - 1
    return out
