"""Convex clipping of many polygons at once (Sutherland and Hodgman's walk along the edges, vectorised over polygons)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.relate.facts import Floats, Ints


@dataclass(frozen=True)
class Polygons:
    """points (m, k, 3), of which the first count (m,) are vertices."""

    points: Floats
    count: Ints

    def take(self, index: np.ndarray) -> Polygons:
        return Polygons(self.points[index], self.count[index])

    @property
    def used(self) -> np.ndarray:
        """(m, k) which points are vertices."""
        return np.arange(self.points.shape[1]) < self.count[:, None]


def triangles(values: Floats) -> Polygons:
    """From (m, 9) rows."""
    return Polygons(values.reshape(-1, 3, 3), np.full(len(values), 3))


def clip(polygons: Polygons, normal: Floats, offset: Floats) -> Polygons:
    """What lies where normal . p <= offset (one half-space a polygon); nothing left is a count of 0."""
    return _clipped(polygons, np.einsum("mki,mi->mk", polygons.points, normal) - offset[:, None])


def clip_box(polygons: Polygons, limit: Floats) -> tuple[Polygons, Ints]:
    """What lies in the boxes from 0 to `limit` (m, 3), without the polygons of which nothing is left; and which are left."""
    at = np.arange(len(polygons.count))
    for axis in range(3):
        for low in (True, False):
            along = polygons.points[:, :, axis]
            polygons = _clipped(polygons, -along if low else along - limit[at, axis, None])
            if not polygons.count.all():
                left = polygons.count > 0
                polygons, at = polygons.take(left), at[left]
    return polygons, at


def _clipped(polygons: Polygons, depth: Floats) -> Polygons:
    """depth: (m, k) how far each point lies outside."""
    outside = (depth > 0) & polygons.used
    touched = np.flatnonzero(outside.any(axis=1))
    if not len(touched):
        return polygons
    part = _walk(polygons.take(touched), depth[touched])
    more = part.points.shape[1] - polygons.points.shape[1]
    points = np.pad(polygons.points, ((0, 0), (0, max(more, 0)), (0, 0)))
    count = polygons.count.copy()
    points[touched, :part.points.shape[1]] = part.points
    count[touched] = part.count
    return Polygons(points, count)


def _walk(polygons: Polygons, depth: Floats) -> Polygons:
    points, used = polygons.points, polygons.used
    m, k = used.shape
    column = np.arange(k)[None, :]
    after = np.where(column + 1 < polygons.count[:, None], column + 1, 0)
    row = np.arange(m)[:, None]
    d_next = depth[row, after]
    inside = (depth <= 0) & used
    crossing = used & ((depth <= 0) != (d_next <= 0))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(crossing, depth / (depth - d_next), 0.0)
    crossed = points + share[:, :, None] * (points[row, after] - points)
    # Each vertex may leave itself and the crossing behind it, in this order.
    keep = np.stack([inside, crossing], axis=2).reshape(m, 2 * k)
    both = np.stack([points, crossed], axis=2).reshape(m, 2 * k, 3)
    place = np.cumsum(keep, axis=1) - 1
    count = keep.sum(axis=1)
    out = np.zeros((m, max(int(count.max(initial=0)), 1), 3))
    r, c = np.nonzero(keep)
    out[r, place[r, c]] = both[r, c]
    return Polygons(out, count)
