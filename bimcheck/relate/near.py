"""Pairs of boxes that meet in space."""

from __future__ import annotations

import numpy as np
import shapely

from bimcheck.relate.facts import Floats, Ints

TRIES = 16  # directions that are tried


def spread_axis(n: Floats) -> Floats:
    """(2,) the plan direction along which no wall with normal n is seen end on: walls stay apart when laid on it."""
    angle = (np.arange(TRIES) + 0.5) * np.pi / TRIES
    axes = np.column_stack([np.cos(angle), np.sin(angle)])
    plan = n[np.abs(n[:, 2]) < 0.9, :2]
    if not len(plan):
        return axes[0]
    along = np.column_stack([-plan[:, 1], plan[:, 0]])
    return axes[np.argmax(np.abs(along @ axes.T).min(axis=0))]


def meeting(first: Floats, second: Floats, axis: Floats) -> tuple[Ints, Ints]:
    """Rows of `first` and of `second`, (n, 6) world boxes, that meet; searched along the plan axis and in height."""
    if not len(first) or not len(second):
        return np.zeros(0, int), np.zeros(0, int)
    tree = shapely.STRtree(_flat(second, axis))
    i, j = tree.query(_flat(first, axis))
    meets = ((first[i, :3] <= second[j, 3:]) & (first[i, 3:] >= second[j, :3])).all(axis=1)
    i, j = i[meets], j[meets]
    order = np.lexsort((j, i))
    return i[order], j[order]


def _flat(box: Floats, axis: Floats) -> np.ndarray:
    ends = np.stack([box[:, [0, 1]] * axis, box[:, [3, 4]] * axis])
    low, high = ends.min(axis=0).sum(axis=1), ends.max(axis=0).sum(axis=1)
    return shapely.box(low, box[:, 2], high, box[:, 5])


def boxes(corners: Floats, offsets: Ints) -> Floats:
    """(n, 6) world boxes of points (k, 3) by row."""
    starts = offsets[:-1]
    return np.column_stack([np.minimum.reduceat(corners, starts, axis=0), np.maximum.reduceat(corners, starts, axis=0)])
