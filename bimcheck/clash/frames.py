"""Anchors and the axes of their panels; which panels and bodies are near enough to be looked at.

Panels of one facade share their axes, so that a body behind it is turned into them once, not once for every anchor.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from bimcheck.clash.kinds import kinds
from bimcheck.clash.places import Floats, Ints
from bimcheck.clash.zones import Zone, largest

# Axes that differ by less are one: a body that reaches 10 m from the anchor is then out by 1e-4 mm at most.
SAME_AXES = 8  # decimals


@dataclass(frozen=True)
class Axes:
    """Axes that panels share.  matrix (c, 3, 3): rows u, v, -n; of (g,) those of each panel; base (3,) world zero;
    at (3, k) x, y, depth of each anchor's mouth from the zero, in its own axes."""

    matrix: Floats
    of: Ints
    base: Floats
    at: Floats


@dataclass(frozen=True)
class Frames:
    """Anchors by panel: mouth (k, 3) of the hole on the rear face, world mm; starts (g,) first anchor of each panel;
    panel (g,) and owner (k,) rows of elements; u, v, n (g, 3) axes of the panels, and those of them that differ."""

    mouth: Floats
    starts: Ints
    panel: Ints
    owner: Ints
    u: Floats
    v: Floats
    n: Floats
    axes: Axes

    @property
    def counts(self) -> Ints:
        return np.diff(np.r_[self.starts, len(self.mouth)])


def frames_of(mouth: Floats, elements: Mapping[str, Any], row: Ints) -> Frames:
    """mouth (k, 3) and the row of elements of each anchor, those of one panel next to one another."""
    starts = np.flatnonzero(np.r_[True, row[1:] != row[:-1]]) if len(row) else np.zeros(0, dtype=np.int64)
    panel = row[starts]
    u, v, n = (elements[k][panel] for k in "uvn")
    whole = np.hstack([u, v, -n])
    first, of = kinds(np.asarray(np.round(whole, SAME_AXES), dtype=float))
    matrix = whole[first].reshape(-1, 3, 3)
    base = mouth.mean(axis=0) if len(mouth) else np.zeros(3)
    each = np.repeat(of, np.diff(np.r_[starts, len(mouth)]))
    return Frames(mouth, starts, panel, row, u, v, n, Axes(matrix, of, base, turned(matrix, each, (mouth - base).T)))


def turned(matrix: Floats, of: Ints, points: Floats) -> Floats:
    """(3, k) points (3, k) along the axes `of` each; runs of one kind are one product."""
    out = np.empty_like(points)
    edges = np.flatnonzero(np.r_[True, of[1:] != of[:-1], True]) if len(of) else np.zeros(1, dtype=np.int64)
    for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        np.matmul(matrix[of[a]], points[:, a:b], out=out[:, a:b])
    return out


def group_boxes(frames: Frames, zones: Sequence[Zone]) -> Floats:
    """(6, g) world boxes around the zones of all anchors of each panel."""
    starts = frames.starts
    hx, hy, depth = largest(zones)
    mouth = np.ascontiguousarray(frames.mouth.T)
    u, v, n = frames.u.T, frames.v.T, frames.n.T
    spread, far = np.abs(u) * hx + np.abs(v) * hy, -depth * n
    return np.vstack([np.minimum.reduceat(mouth, starts, axis=1) + np.minimum(far, 0.0) - spread,
                      np.maximum.reduceat(mouth, starts, axis=1) + np.maximum(far, 0.0) + spread])


def group_pairs(frames: Frames, zones: Sequence[Zone], box: Floats) -> tuple[Ints, Ints]:
    """Panels (by their place in `frames`) and bodies whose world boxes (k, 6) meet."""
    return box_pairs(group_boxes(frames, zones), frames.n, box) if len(frames.panel) else box_pairs(np.zeros((6, 0)), frames.n, box)


def box_pairs(zone: Floats, n: Floats, box: Floats) -> tuple[Ints, Ints]:
    """Zones (6, g) of panels that face along n (g, 3), and bodies' boxes (k, 6), that meet: a tree over the two axes along
    which the panel extends, then the third."""
    found = [(np.zeros(0, dtype=np.int64),) * 2]
    if len(box) and len(n):
        body, flat = np.ascontiguousarray(box.T), np.argmax(np.abs(np.ascontiguousarray(n.T)), axis=0)
        found += [_along(zone, body, np.flatnonzero(flat == axis), axis) for axis in range(3)]
    group, body = (np.concatenate(c) for c in zip(*found, strict=True))
    return group, body


def _along(zone: Floats, box: Floats, rows: Ints, axis: int) -> tuple[Ints, Ints]:
    """`box_pairs` of the panels `rows`, which face along one axis of the world."""
    z = zone[:, rows]
    if not len(rows):
        return rows, rows
    a, b = (k for k in range(3) if k != axis)
    # Bodies beside the facades of this direction are left out of the tree, and panels beside these bodies unasked.
    near = np.flatnonzero((box[axis] < z[axis + 3].max()) & (box[axis + 3] > z[axis].min()))
    if 4 * len(near) < len(rows):
        asked = np.flatnonzero(_covered(z, box[:, near], a) & _covered(z, box[:, near], b))
        rows, z = rows[asked], z[:, asked]
    elif 4 * len(rows) < len(near):
        near = near[_covered(box[:, near], z, a) & _covered(box[:, near], z, b)]
    i, j = shapely.STRtree(_diagonals(box[:, near], a, b)).query(_diagonals(z, a, b))
    j = near[j]
    meets = (z[axis, i] < box[axis + 3, j]) & (z[axis + 3, i] > box[axis, j])
    return rows[i[meets]], j[meets]


def _covered(zone: Floats, box: Floats, axis: int) -> np.ndarray:
    """Which of some boxes (6, k) meet some of others along one axis: the intervals of these as a sorted union."""
    order = np.argsort(box[axis])
    low, high = box[axis][order], np.maximum.accumulate(box[axis + 3][order])
    last = np.searchsorted(low, zone[axis + 3], side="right") - 1
    return (last >= 0) & (high[np.maximum(last, 0)] >= zone[axis]) if len(low) else np.zeros(zone.shape[1], dtype=bool)


def _diagonals(box: Floats, a: int, b: int) -> Any:
    """Lines whose extents are those of boxes (6, k): the tree looks at extents alone, and lines are made sooner."""
    return shapely.linestrings(np.stack([box[[a, b]].T, box[[a + 3, b + 3]].T], axis=1))
