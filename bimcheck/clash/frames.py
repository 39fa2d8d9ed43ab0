"""Anchors and the axes of their panels; which panels and bodies are near enough to be looked at.

Panels of one facade share their axes, so that a body behind it is turned into them once, not once for every anchor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.clash.places import Floats, Ints
from bimcheck.clash.zones import Zone, largest

# Axes that differ by less are one: a body that reaches 10 m from the anchor is then out by 1e-4 mm at most.
SAME_AXES = 8  # decimals


@dataclass(frozen=True)
class Frames:
    """Anchors: mouth (k, 3) of the hole on the rear face, world mm; u, v, n (k, 3) axes of their panels; panel (k,) rising."""

    mouth: Floats
    u: Floats
    v: Floats
    n: Floats
    panel: Ints

    def take(self, rows: Ints) -> Frames:
        return Frames(self.mouth[rows], self.u[rows], self.v[rows], self.n[rows], self.panel[rows])

    @property
    def starts(self) -> Ints:
        """First anchor of each panel that has some."""
        return np.flatnonzero(np.r_[True, self.panel[1:] != self.panel[:-1]]) if len(self.panel) else np.zeros(0, dtype=np.int64)


@dataclass(frozen=True)
class Axes:
    """Axes that panels share.  matrix (c, 3, 3): rows u, v, -n; of (k,) those of each anchor; base (3,) world zero;
    at (3, k) x, y, depth of each anchor's mouth from the zero, in its own axes."""

    matrix: Floats
    of: Ints
    base: Floats
    at: Floats


def axes_of(frames: Frames) -> Axes:
    starts = frames.starts
    whole = np.hstack([frames.u[starts], frames.v[starts], -frames.n[starts]])
    first, of = _alike(np.round(whole, SAME_AXES))
    matrix = whole[first].reshape(-1, 3, 3)
    each = np.repeat(of, np.diff(np.r_[starts, len(frames.panel)]))
    base = frames.mouth.mean(axis=0) if len(frames.mouth) else np.zeros(3)
    return Axes(matrix, each, base, turned(matrix, each, (frames.mouth - base).T))


def turned(matrix: Floats, of: Ints, points: Floats) -> Floats:
    """(3, k) points (3, k) along the axes `of` each; runs of one kind are one product."""
    out = np.empty_like(points)
    edges = np.flatnonzero(np.r_[True, of[1:] != of[:-1], True]) if len(of) else np.zeros(1, dtype=np.int64)
    for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        np.matmul(matrix[of[a]], points[:, a:b], out=out[:, a:b])
    return out


def _alike(rows: Floats) -> tuple[Ints, Ints]:
    """First of each kind of row, and the kind of every row.  Sorted by one number a row; that rows of one number are
    equal is seen to."""
    key = rows @ np.sqrt(np.arange(2.0, 2.0 + rows.shape[1]))
    _, first, of = np.unique(key, return_index=True, return_inverse=True)
    of = of.ravel()
    if (rows[first[of]] == rows).all():
        return first, of
    _, first, of = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    return first, of.ravel()


def group_boxes(frames: Frames, zones: Sequence[Zone]) -> Floats:
    """(6, g) world boxes around the zones of all anchors of each panel."""
    starts = frames.starts
    hx, hy, depth = largest(zones)
    mouth = np.ascontiguousarray(frames.mouth.T)
    u, v, n = (a[starts].T for a in (frames.u, frames.v, frames.n))
    spread, far = np.abs(u) * hx + np.abs(v) * hy, -depth * n
    return np.vstack([np.minimum.reduceat(mouth, starts, axis=1) + np.minimum(far, 0.0) - spread,
                      np.maximum.reduceat(mouth, starts, axis=1) + np.maximum(far, 0.0) + spread])


def group_pairs(frames: Frames, zones: Sequence[Zone], box: Floats) -> tuple[Ints, Ints]:
    """Panels (by number in `starts`) and bodies whose world boxes meet: a tree over the two axes along which the panel
    extends, then the third."""
    found = [(np.zeros(0, dtype=np.int64),) * 2]
    if len(box) and len(frames.panel):
        zone, body = group_boxes(frames, zones), np.ascontiguousarray(box.T)
        flat = np.argmax(np.abs(frames.n[frames.starts]), axis=1)
        found += [_along(zone, body, np.flatnonzero(flat == axis), axis) for axis in range(3)]
    group, body = (np.concatenate(c) for c in zip(*found, strict=True))
    return group, body


def _along(zone: Floats, box: Floats, rows: Ints, axis: int) -> tuple[Ints, Ints]:
    """`group_pairs` of the panels `rows`, which face along one axis of the world."""
    z = zone[:, rows]
    if not len(rows):
        return rows, rows
    # Bodies beside the facades of this direction are left out of the tree.
    near = np.flatnonzero((box[axis] < z[axis + 3].max()) & (box[axis + 3] > z[axis].min()))
    a, b = (k for k in range(3) if k != axis)
    i, j = shapely.STRtree(_diagonals(box[:, near], a, b)).query(_diagonals(z, a, b))
    j = near[j]
    meets = (z[axis, i] < box[axis + 3, j]) & (z[axis + 3, i] > box[axis, j])
    return rows[i[meets]], j[meets]


def _diagonals(box: Floats, a: int, b: int) -> np.ndarray:
    """Lines whose extents are those of boxes (6, k): the tree looks at extents alone, and lines are made sooner."""
    return shapely.linestrings(np.stack([box[[a, b]].T, box[[a + 3, b + 3]].T], axis=1))
