"""From raw faces to panel frames: front face by outward side, axes, outline seen from outside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.core.tables import Ragged, Table
from bimcheck.relate.facts import Floats, Ints

UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Faces:
    """Points of one face per row, world: points (k, 3), ring (k,) number of the ring, offsets (n + 1,)."""

    points: Floats
    ring: Ints
    offsets: Ints

    @property
    def rows(self) -> Ints:
        return np.repeat(np.arange(len(self.offsets) - 1), np.diff(self.offsets))

    def extent(self, axis: Floats) -> tuple[Floats, Floats]:
        """Least and greatest coordinate of each row along its axis, (n, 3) or (3,)."""
        along = dot(self.points, axis[self.rows] if axis.ndim == 2 else axis)
        if not len(self.points):
            return np.zeros(0), np.zeros(0)
        return np.minimum.reduceat(along, self.offsets[:-1]), np.maximum.reduceat(along, self.offsets[:-1])


def dot(a: Floats, b: Floats) -> Floats:
    return np.einsum("...i,...i->...", a, b)


def unit(vectors: Floats) -> Floats:
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return vectors / np.where(length > 0, length, 1.0)


def faces(table: Table, sign: Floats) -> Faces:
    """The face on the side `sign` * raw_n: the raw face for +1, its parallel face at -thickness for -1."""
    own, back = table["raw_outline"], table["raw_outline_back"]
    other = (sign < 0) & (back.lengths >= 3)
    both = Ragged(np.concatenate([own.values, back.values]),
                  np.concatenate([own.offsets, own.offsets[-1] + back.offsets[1:]]))
    ring = both.take(np.arange(table.n) + table.n * other)
    rows = ring.rows
    depth = np.where(sign < 0, table["thickness"], 0.0)
    base = table["raw_origin"] - depth[:, None] * table["raw_n"]
    points = base[rows] + ring.values[:, :1] * table["raw_u"][rows] + ring.values[:, 1:2] * table["raw_v"][rows]
    return Faces(points, ring.values[:, 2].astype(np.int64), ring.offsets)


def horizontal(n: Floats, level: Floats) -> Floats:
    """u = z x n; where n is (nearly) vertical, `level` gives it."""
    u = np.cross(UP, n)
    flat = np.linalg.norm(u, axis=1) < 1e-6
    return unit(np.where(flat[:, None], level, u))


def frame(face: Faces, n: Floats, level: Floats) -> tuple[Floats, Floats, Floats, Ragged]:
    """origin, u, v and the outline in them: counter-clockwise seen from outside, cut-outs clockwise."""
    u = horizontal(n, level)
    v = np.cross(n, u)
    rows, starts = face.rows, face.offsets[:-1]
    anchor = face.points[starts]
    local = face.points - anchor[rows]
    x, y = dot(local, u[rows]), dot(local, v[rows])
    x0, y0 = np.minimum.reduceat(x, starts), np.minimum.reduceat(y, starts)
    flat = np.column_stack([x - x0[rows], y - y0[rows], face.ring])
    origin = anchor + x0[:, None] * u + y0[:, None] * v
    return origin, u, v, Ragged(turned(flat, face.offsets), face.offsets)


def laid(origin: Floats, u: Floats, v: Floats, outline: Ragged) -> Faces:
    """Outlines in their frames back in the world."""
    rows = outline.rows
    points = origin[rows] + outline.values[:, :1] * u[rows] + outline.values[:, 1:2] * v[rows]
    return Faces(points, outline.values[:, 2].astype(np.int64), outline.offsets)


def ring_starts(values: Floats, offsets: Ints) -> Ints:
    """Start of every ring in the values of an outline column; closed by their number."""
    rows = np.repeat(np.arange(len(offsets) - 1), np.diff(offsets))
    new = np.r_[True, (np.diff(values[:, 2]) != 0) | (np.diff(rows) != 0)] if len(values) else np.zeros(0, bool)
    return np.r_[np.flatnonzero(new), len(values)].astype(np.int64)


def following(values: Floats, starts: Ints) -> Ints:
    """For every vertex the next one of its ring."""
    after = np.arange(1, len(values) + 1)
    after[starts[1:] - 1] = starts[:-1]
    return after


def ring_areas(values: Floats, starts: Ints) -> Floats:
    """Signed area of every ring (counter-clockwise positive)."""
    x, y = values[:, 0], values[:, 1]
    after = following(values, starts)
    # From each ring's first vertex, so that large coordinates do not eat the digits.
    base = np.repeat(starts[:-1], np.diff(starts))
    dx, dy = x - x[base], y - y[base]
    return np.add.reduceat(dx * dy[after] - dx[after] * dy, starts[:-1]) / 2


def turned(values: Floats, offsets: Ints) -> Floats:
    starts = ring_starts(values, offsets)
    first = values[starts[:-1], 2] == 0
    wrong = (ring_areas(values, starts) > 0) != first
    lengths = np.diff(starts)
    within = np.arange(len(values)) - np.repeat(starts[:-1], lengths)
    mirrored = np.repeat(starts[:-1] + lengths - 1, lengths) - within
    return values[np.where(np.repeat(wrong, lengths), mirrored, np.arange(len(values)))]


def net_area(outline: Ragged) -> Floats:
    """Area of the outline less its cut-outs."""
    starts = ring_starts(outline.values, outline.offsets)
    rows = outline.rows[starts[:-1]]
    return np.bincount(rows, ring_areas(outline.values, starts), minlength=len(outline))
