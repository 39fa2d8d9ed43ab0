"""Bodies given by their faces, many at once: the two large parallel planes, their outlines and the distance between.

Every face is a set of directed edges.  Within one plane an edge that two faces share cancels; what is left is the rim of the
plane, whatever the faces were: triangles, polygons, with or without holes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.bodies import Shell

Floats = NDArray[Any]  # of float64
Ints = NDArray[np.int64]
WELD = 0.005  # mm; points closer than this are one
SAME = float(np.cos(np.radians(0.06)))  # directions within this are one
LEVEL = 0.05  # mm; planes closer than this are one
RUNS = 0.3  # of the plate's mean side: what stands out along a longer edge than this is no stud
ROUNDS = 6  # directions that are tried as the faces' normal


@dataclass(frozen=True)
class Soup:
    """points: (v, 3) from each mesh's first point, welded; base: (m, 3) that point.

    a, b: (e,) ends of the edges; edge_face: (e,); face_mesh: (f,), rising; normal: (f, 3) unit, area: (f,) mm2.
    """

    points: Floats
    base: Floats
    a: Ints
    b: Ints
    edge_face: Ints
    face_mesh: Ints
    normal: Floats
    area: Floats
    meshes: int

    @property
    def face_starts(self) -> Ints:
        return np.searchsorted(self.face_mesh, np.arange(self.meshes))

    def of_mesh(self, values: Floats) -> Floats:
        """Sum of a value per face over each mesh."""
        return np.bincount(self.face_mesh, values, minlength=self.meshes)


def make(shells: Sequence[Shell]) -> Soup:
    """All shells in one; every shell must have at least one face with three points."""
    counts = np.array([len(s.points) for s in shells])
    mesh_of = np.repeat(np.arange(len(shells)), counts)
    raw = np.concatenate([s.points for s in shells])
    base = raw[np.r_[0, np.cumsum(counts)[:-1]]]
    points = raw - base[mesh_of]
    lengths = np.fromiter((len(x) for s in shells for x in s.loops), np.int64)
    flat = np.fromiter(chain.from_iterable(x for s in shells for x in s.loops), np.int64)
    loops = np.array([len(s.loops) for s in shells])
    loop_mesh = np.repeat(np.arange(len(shells)), loops)
    first_face = np.r_[0, np.cumsum([s.face[-1] + 1 for s in shells])]
    loop_face = np.fromiter(chain.from_iterable(s.face for s in shells), np.int64) + first_face[loop_mesh]
    flat = flat + np.repeat(np.r_[0, np.cumsum(counts)[:-1]][loop_mesh], lengths)
    face_mesh = np.repeat(np.arange(len(shells)), np.diff(first_face))
    flat = _welded(points, mesh_of)[flat]
    return _soup(points, base, flat, lengths, loop_face, face_mesh)


def _welded(points: Floats, mesh: Ints) -> Ints:
    """For every point the number of the first one at its place."""
    q = np.round(points / (2 * WELD)).astype(np.int64).view(np.uint64)
    with np.errstate(over="ignore"):
        key = (mesh.astype(np.uint64) * np.uint64(0x9E3779B97F4A7C15)) ^ (q[:, 0] * np.uint64(0xC2B2AE3D27D4EB4F))
        key = (key ^ (key >> np.uint64(29))) * np.uint64(0xBF58476D1CE4E5B9) + q[:, 1] * np.uint64(0x165667B19E3779F9)
        key = (key ^ (key >> np.uint64(32))) * np.uint64(0x94D049BB133111EB) + q[:, 2] * np.uint64(0xD6E8FEB86659FD93)
    _, first, back = np.unique(key, return_index=True, return_inverse=True)
    return first[back.ravel()]


def _soup(points: Floats, base: Floats, flat: Ints, lengths: Ints, loop_face: Ints, face_mesh: Ints) -> Soup:
    starts = np.r_[0, np.cumsum(lengths)[:-1]]
    after = np.arange(1, len(flat) + 1)
    after[starts + lengths - 1] = starts
    a, b = flat, flat[after]
    # Newell: from the loop's first point, so that the sum keeps its digits.
    first = points[flat[np.repeat(starts, lengths)]]
    twice = np.cross(points[a] - first, points[b] - first)
    vector = np.add.reduceat(twice, starts, axis=0) / 2
    turn = _holes_turned(vector, loop_face, len(face_mesh))
    vector[turn] *= -1
    flip = np.repeat(turn, lengths)
    a, b = np.where(flip, b, a), np.where(flip, a, b)
    total = np.column_stack([np.bincount(loop_face, vector[:, k], minlength=len(face_mesh)) for k in range(3)])
    area = np.linalg.norm(total, axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        normal = np.where(area[:, None] > 0, total / area[:, None], 0.0)
    keep = a != b
    return Soup(points, base, a[keep], b[keep], np.repeat(loop_face, lengths)[keep], face_mesh, normal, area, len(base))


def _holes_turned(vector: Floats, loop_face: Ints, faces: int) -> NDArray[np.bool_]:
    """Inner loops that run the same way as the outer one of their face."""
    if len(loop_face) == faces:
        return np.zeros(len(loop_face), bool)
    size = np.einsum("ij,ij->i", vector, vector)
    order = np.lexsort((-size, loop_face))
    head = np.r_[True, np.diff(loop_face[order]) != 0]
    outer = np.zeros(faces, dtype=np.int64)
    outer[loop_face[order][head]] = order[head]
    own = outer[loop_face]
    return (own != np.arange(len(loop_face))) & (np.einsum("ij,ij->i", vector, vector[own]) > 0)


@dataclass(frozen=True)
class Planes:
    """Per mesh: normal (m, 3), offsets near and far (m,) of its outermost large planes, ok (m,): two flat planes were found.

    share: area of the two over the whole; outside: area of faces that lie before or behind both, over the whole, and 1 where
    one of them runs along the plate (a return, a rail); lone: every face lies in one plane.  plane: (f,) 1 in the far, 0 in the near plane, -1 in none.
    """

    normal: Floats
    near: Floats
    far: Floats
    ok: NDArray[np.bool_]
    lone: NDArray[np.bool_]
    share: Floats
    outside: Floats
    plane: Ints


def main_normal(soup: Soup) -> tuple[Floats, NDArray[np.bool_]]:
    """(m, 3) the direction that most of the surface faces, and whether no untried direction could have more."""
    left = soup.area > 1e-6
    rest = soup.of_mesh(np.where(left, soup.area, 0.0))
    best, normal = np.zeros(soup.meshes), np.zeros((soup.meshes, 3))
    starts = soup.face_starts
    for _ in range(ROUNDS):
        active = rest > best
        if not active.any():
            break
        w = np.where(left & active[soup.face_mesh], soup.area, 0.0)
        most = np.maximum.reduceat(w, starts)
        at = np.flatnonzero((w == most[soup.face_mesh]) & (w > 0))
        mesh, first = np.unique(soup.face_mesh[at], return_index=True)
        seed = np.zeros((soup.meshes, 3))
        seed[mesh] = soup.normal[at[first]]
        member = left & (np.abs(np.einsum("ij,ij->i", soup.normal, seed[soup.face_mesh])) > SAME)
        total = soup.of_mesh(np.where(member, soup.area, 0.0))
        better = total > best
        best, normal = np.where(better, total, best), np.where(better[:, None], seed, normal)
        rest = rest - total
        left &= ~member
    return normal, ~(rest > best)


def planes(soup: Soup, taper: float) -> Planes:
    """The outermost large planes square to the main normal; not ok where they are not flat within `taper` mm."""
    normal, settled = main_normal(soup)
    own = normal[soup.face_mesh]
    parallel = (np.abs(np.einsum("ij,ij->i", soup.normal, own)) > SAME) & (soup.area > 1e-6)
    count = np.maximum(np.bincount(soup.edge_face, minlength=len(soup.area)), 1)
    along = np.einsum("ij,ij->i", soup.points[soup.a], own[soup.edge_face])
    level = np.bincount(soup.edge_face, along, minlength=len(soup.area)) / count
    faces = np.flatnonzero(parallel)
    order = faces[np.lexsort((level[faces], soup.face_mesh[faces]))]
    new = np.r_[True, (np.diff(level[order]) > LEVEL) | (np.diff(soup.face_mesh[order]) != 0)]
    group = np.cumsum(new) - 1
    area = np.bincount(group, soup.area[order])
    mesh = soup.face_mesh[order][new]
    height = np.bincount(group, level[order] * soup.area[order]) / area
    most = np.zeros(soup.meshes)
    np.maximum.at(most, mesh, area)
    big = np.flatnonzero(area >= 0.3 * most[mesh])
    near_group, far_group = np.full(soup.meshes, -1), np.full(soup.meshes, -1)
    far_group[mesh[big]] = big  # rising: the last one stays
    near_group[mesh[big[::-1]]] = big[::-1]
    plane = np.full(len(soup.area), -1)
    plane[order] = np.where(group == far_group[soup.face_mesh[order]], 1, np.where(group == near_group[soup.face_mesh[order]], 0, -1))
    both = soup.of_mesh(np.where(plane >= 0, soup.area, 0.0))
    whole = soup.of_mesh(soup.area)
    has = far_group >= 0
    near, far = (np.where(has, height[np.maximum(g, 0)], np.nan) for g in (near_group, far_group))
    one = has & (near_group == far_group)
    beyond = (level > far[soup.face_mesh] + LEVEL) | (level < near[soup.face_mesh] - LEVEL)
    with np.errstate(invalid="ignore", divide="ignore"):
        share, outside = both / whole, soup.of_mesh(np.where(beyond, soup.area, 0.0)) / whole
    outside = np.where(longest_edge(soup, beyond) > RUNS * np.sqrt(np.where(has, both / 2, np.inf)), 1.0, outside)
    ok = settled & has & ~one & (_spread(soup, plane, along, level) <= taper)
    return Planes(normal, near, far, ok, one & (share > 0.999), share, outside, plane)


def longest_edge(soup: Soup, faces: NDArray[np.bool_]) -> Floats:
    """(m,) longest edge of the given faces (f,) of each mesh, mm; 0 where there are none."""
    use = faces[soup.edge_face]
    out = np.zeros(soup.meshes)
    np.maximum.at(out, soup.face_mesh[soup.edge_face[use]], np.linalg.norm(soup.points[soup.b[use]] - soup.points[soup.a[use]], axis=1))
    return out


def _spread(soup: Soup, plane: Ints, along: Floats, level: Floats) -> Floats:
    """(m,) greatest distance of a corner of the two planes from its plane's level, mm."""
    edge_plane = plane[soup.edge_face]
    use = edge_plane >= 0
    key = (soup.face_mesh[soup.edge_face] * 2 + edge_plane)[use]
    high, low = np.full(soup.meshes * 2, -np.inf), np.full(soup.meshes * 2, np.inf)
    np.maximum.at(high, key, along[use])
    np.minimum.at(low, key, along[use])
    with np.errstate(invalid="ignore"):
        spread = (high - low).reshape(-1, 2)
    return np.where(np.isfinite(spread), spread, 0.0).max(axis=1)
