"""Bodies in the axes of the panels they stand behind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.clash.frames import Axes, turned
from bimcheck.clash.places import Floats, Ints
from bimcheck.core.tables import Table

SAME = 1e-6  # mm; corners within it are one corner
BOX = 12  # triangles of a box


@dataclass(frozen=True)
class Placed:
    """points (3, 3 m): x, y, depth of the corners of triangles, three a triangle; offsets (k + 1,) triangles of each body;
    low, high (3, k) extents; upright (k,): the body is a solid box along the axes, so that its extents are all of it."""

    points: Floats
    offsets: Ints
    low: Floats
    high: Floats
    upright: np.ndarray

    def triangles(self, slot: Ints) -> tuple[Ints, Ints]:
        """Triangles of the bodies `slot`, and the position in `slot` of each."""
        lengths = np.diff(self.offsets)[slot]
        pair = np.repeat(np.arange(len(slot)), lengths)
        return np.arange(len(pair)) + np.repeat(self.offsets[slot] - np.cumsum(lengths) + lengths, lengths), pair

    def spans(self) -> tuple[Floats, Floats]:
        """(3, m) least and greatest x, y, depth of each triangle."""
        a, b, c = np.moveaxis(self.points.reshape(3, -1, 3), 2, 0)
        return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)

    def corners(self, triangle: Ints) -> Floats:
        """(3 corners, 3 coordinates, k)."""
        return np.stack([self.points[:, 3 * triangle + c] for c in range(3)])


def place(bodies: Table, axes: Axes, of: Ints, body: Ints) -> tuple[Placed, Ints]:
    """Every body in all axes it is asked for in, once each; and which of these every pair (of, body) means."""
    key, slot = np.unique(of * bodies.n + body, return_inverse=True)
    kind, row = key // max(bodies.n, 1), key % max(bodies.n, 1)
    shape = bodies["triangles"].take(row)
    world = np.ascontiguousarray(shape.values.reshape(-1, 3).T) - axes.base[:, None]
    points = turned(axes.matrix, np.repeat(kind, 3 * shape.lengths), world)
    low, high = (_reduced(f, points, 3 * shape.offsets) for f in (np.minimum, np.maximum))
    return Placed(points, shape.offsets, low, high, _upright(points, shape.offsets, low, high)), slot.ravel()


def _reduced(f: np.ufunc, points: Floats, offsets: Ints) -> Floats:
    return f.reduceat(points, offsets[:-1], axis=1) if len(offsets) > 1 else np.zeros((3, 0))


def _upright(points: Floats, offsets: Ints, low: Floats, high: Floats) -> np.ndarray:
    """Bodies of twelve triangles whose corners are the eight of their extents and whose volume fills them."""
    out = np.diff(offsets) == BOX
    rows = np.flatnonzero(out)
    index = (3 * offsets[rows])[:, None] + np.arange(3 * BOX)
    at = points[:, index] if len(rows) < len(out) else points.reshape(3, -1, 3 * BOX)
    least, size = low[:, rows, None], (high - low)[:, rows, None]
    away = at - least
    corner = ((away <= SAME) | (away >= size - SAME)).all(axis=(0, 2))
    x, y, z = away.reshape(3, len(rows), BOX, 3)
    (ax, bx, cx), (ay, by, cy), (az, bz, cz) = (np.moveaxis(k, 2, 0) for k in (x, y, z))
    volume = np.abs((ax * (by * cz - bz * cy) - ay * (bx * cz - bz * cx) + az * (bx * cy - by * cx)).sum(axis=1)) / 6
    whole = size[:, :, 0].prod(axis=0)
    out[rows] = corner & (np.abs(volume - whole) <= SAME * whole)
    return out
