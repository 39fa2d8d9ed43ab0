"""The rims of planes: edges that no two faces of a plane share, chained to rings, all bodies at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.polygons import STRAIGHT
from bimcheck.read.soup import Planes, Soup

Floats = NDArray[Any]  # of float64
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Rims:
    """Corners in order: vertex (k,) of the soup; starts (r + 1,) of the rings; mesh (r,), plane (r,) 1 far, 0 near.

    torn: (m,) meshes whose rim does not chain to rings.
    """

    vertex: Ints
    starts: Ints
    mesh: Ints
    plane: Ints
    torn: NDArray[np.bool_]


def rims(soup: Soup, found: Planes) -> Rims:
    plane = found.plane[soup.edge_face]
    use = plane >= 0
    a, b, face, plane = soup.a[use], soup.b[use], soup.edge_face[use], plane[use]
    mesh = soup.face_mesh[face]
    against = np.einsum("ij,ij->i", soup.normal[face], found.normal[mesh]) < 0
    a, b = np.where(against, b, a), np.where(against, a, b)
    # Corners of the two planes are told apart by doubling the vertex numbers.
    a, b = a * 2 + plane, b * 2 + plane
    big = 2 * len(soup.points)
    key, back = a * big + b, b * big + a
    rim = ~np.isin(key, back)
    key = np.unique(key[rim])
    a, b = key // big, key % big
    vertex_mesh = np.zeros(big, dtype=np.int64)
    vertex_mesh[soup.a * 2] = vertex_mesh[soup.a * 2 + 1] = soup.face_mesh[soup.edge_face]
    torn = np.zeros(soup.meshes, bool)
    out, into = np.bincount(a, minlength=big), np.bincount(b, minlength=big)
    torn[vertex_mesh[np.flatnonzero((out != into) | (out > 1))]] = True
    keep = ~torn[vertex_mesh[a]]
    a, b = a[keep], b[keep]
    label, order = _chains(a, b)
    vertex = a[order]
    starts = np.flatnonzero(np.r_[True, np.diff(label[order]) != 0]) if len(order) else np.zeros(0, np.int64)
    head = vertex[starts]
    return Rims(vertex // 2, np.r_[starts, len(vertex)].astype(np.int64), vertex_mesh[head], head % 2, torn)


def _chains(a: Ints, b: Ints) -> tuple[Ints, Ints]:
    """a rises, each once, b is a permutation of it: label of each one's ring, and the order along the rings."""
    k = len(a)
    follow = np.searchsorted(a, b)
    label, jump = np.arange(k), follow
    while k:
        lower = np.minimum(label, label[jump])
        if np.array_equal(lower, label) and np.array_equal(label, label[follow]):
            break
        label, jump = lower, jump[jump]
    step = np.zeros(k, dtype=np.int64)
    heads = np.flatnonzero(label == np.arange(k))
    current, count = follow[heads], 1
    current = current[label[current] != current]
    while len(current):
        step[current] = count
        current, count = follow[current], count + 1
        current = current[label[current] != current]
    return label, np.lexsort((step, label))


def neighbours(starts: Ints, k: int) -> tuple[Ints, Ints]:
    """For every corner the one before and the one after in its ring."""
    before, after = np.arange(-1, k - 1), np.arange(1, k + 1)
    before[starts[:-1]] = starts[1:] - 1
    after[starts[1:] - 1] = starts[:-1]
    return before, after


def corners_only(rim: Rims, points: Floats) -> Rims:
    """Without corners that lie on the straight line of their neighbours."""
    if not len(rim.vertex):
        return rim
    p = points[rim.vertex]
    before, after = neighbours(rim.starts, len(p))
    chord = p[after] - p[before]
    length = np.linalg.norm(chord, axis=1)
    off = np.linalg.norm(np.cross(chord, p - p[before]), axis=1)
    keep = (off > STRAIGHT * length) | (length < STRAIGHT)
    counts = np.add.reduceat(keep.astype(np.int64), rim.starts[:-1])
    alive = counts >= 3
    keep &= np.repeat(alive, np.diff(rim.starts))
    return Rims(rim.vertex[keep], np.r_[0, np.cumsum(counts[alive])].astype(np.int64), rim.mesh[alive], rim.plane[alive], rim.torn)


def areas(rim: Rims, points: Floats, normal: Floats) -> Floats:
    """Signed area of every ring seen against the mesh's normal (m, 3)."""
    if not len(rim.vertex):
        return np.zeros(0)
    p = points[rim.vertex]
    _, after = neighbours(rim.starts, len(p))
    first = np.repeat(p[rim.starts[:-1]], np.diff(rim.starts), axis=0)
    vector = np.add.reduceat(np.cross(p - first, p[after] - first), rim.starts[:-1], axis=0) / 2
    return np.einsum("ij,ij->i", vector, normal[rim.mesh])
