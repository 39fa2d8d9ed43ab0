"""Plates from faces: frames and outlines of the bodies that are two flat parallel planes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.bodies import Shell
from bimcheck.read.found import DEGENERATE, FLAT, HUGE, ZERO, Found
from bimcheck.read.polygons import numbered
from bimcheck.read.rims import Rims, areas, corners_only, neighbours, rims
from bimcheck.read.soup import Planes, Soup, make, planes

Floats = NDArray[Any]  # of float64
Ints = NDArray[np.int64]
SHARE = 0.5  # of the surface lies in the two faces of a plate, at least
OUTSIDE = 0.1  # of the surface may stand out behind or before them: studs, drips; more is a return or another body
PIECE = 0.01  # a second piece larger than this share of the first makes the body more than one plate
PAIRS = 1 << 18  # of corners compared together
MOST_CORNERS = 400  # of an outline whose corners are compared one by one
NEAR = 0.05  # mm; rims that differ by less are the same


def read_shells(shells: Sequence[Shell], rows: Ints, found: Found, taper: float) -> list[int]:
    """Fill `found` at `rows`; returns the positions in `shells` that are no two flat planes."""
    usable = _usable(shells, rows, found)
    if not usable:
        return []
    soup = make([shells[i] for i in usable])
    own = rows[usable]
    seen = planes(soup, taper)
    depth = seen.far - seen.near
    hollow = ~(soup.of_mesh(soup.area) > 2.0)
    alone = seen.lone & ~hollow
    found.state[own[hollow]], found.state[own[alone]] = DEGENERATE, ZERO
    rim = corners_only(rims(soup, seen), soup.points)
    size = areas(rim, soup.points, seen.normal)
    good = seen.ok & (seen.share >= SHARE) & (seen.outside <= OUTSIDE) & (depth > FLAT) & ~rim.torn & ~hollow & ~alone & _single(rim, size, soup.meshes)
    _put(soup, seen, rim, size, good, own, found)
    return [usable[i] for i in np.flatnonzero(~(good | hollow | alone))]


def _usable(shells: Sequence[Shell], rows: Ints, found: Found) -> list[int]:
    """Shells with faces and finite points; the others are marked."""
    good = []
    for i, shell in enumerate(shells):
        points = shell.points
        if len(points) < 3 or not shell.loops or not np.abs(points - points[0]).max() < HUGE:
            found.state[rows[i]] = DEGENERATE
        else:
            good.append(i)
    return good


def _single(rim: Rims, size: Floats, meshes: int) -> NDArray[np.bool_]:
    """Meshes with one outline in both planes; slivers beside it are overlooked."""
    ok = np.ones(meshes, bool)
    for plane in (0, 1):
        here = (rim.plane == plane) & (size > 0)
        total = np.bincount(rim.mesh[here], size[here], minlength=meshes)
        most = np.zeros(meshes)
        np.maximum.at(most, rim.mesh[here], size[here])
        ok &= (most > 0) & (total <= most * (1 + PIECE))
    return ok


def _put(soup: Soup, seen: Planes, rim: Rims, size: Floats, good: NDArray[np.bool_], own: Ints, found: Found) -> None:
    order = np.lexsort((-size, rim.plane, rim.mesh))
    outer = _largest(rim, size, order, soup.meshes)
    longest = _longest_edge(rim, soup.points, outer[1])
    u = longest / np.maximum(np.linalg.norm(longest, axis=1, keepdims=True), 1e-30)
    v = np.cross(seen.normal, u)
    base = soup.points[rim.vertex[rim.starts[:-1][outer[1]]]]
    level = seen.far - np.einsum("ij,ij->i", base, seen.normal)
    origin = base + level[:, None] * seen.normal
    mesh = np.repeat(rim.mesh, np.diff(rim.starts))
    local = soup.points[rim.vertex] - origin[mesh]
    flat = np.column_stack([np.einsum("ij,ij->i", local, u[mesh]), np.einsum("ij,ij->i", local, v[mesh])])
    ring = order[((size[order] > 0) & np.isin(order, np.concatenate(outer)) | (size[order] < 0)) & good[rim.mesh[order]]]
    fronts, backs = _outlines(rim, ring, flat, soup.meshes)
    at = np.flatnonzero(good)
    found.put(own[at], [(origin + soup.base)[at], u[at], v[at], seen.normal[at]], (seen.far - seen.near)[at], [fronts[i] for i in at.tolist()])
    for i in at.tolist():
        back = backs.get(i)
        if back is not None:
            found.back[own[i]] = back


def _outlines(rim: Rims, ring: Ints, flat: Floats, meshes: int) -> tuple[dict[int, Floats], dict[int, Floats]]:
    """Numbered outlines of the far plane by mesh, and of the near plane where they differ; `ring` in order of mesh and plane,
    the largest first."""
    count = np.bincount(rim.mesh[ring] * 2 + rim.plane[ring], minlength=2 * meshes).reshape(-1, 2)
    start, length = np.zeros((2, meshes, 2), dtype=np.int64)
    start[rim.mesh[ring], rim.plane[ring]], length[rim.mesh[ring], rim.plane[ring]] = rim.starts[ring], np.diff(rim.starts)[ring]
    single = (count == 1).all(axis=1) & (length[:, 0] == length[:, 1])
    fronts: dict[int, Floats] = {}
    backs: dict[int, Floats] = {}
    for k in np.unique(length[single, 0]).tolist():  # plates without cut-outs: all of as many corners at once
        mesh = np.flatnonzero(single & (length[:, 0] == k))
        both = np.zeros((2, len(mesh), k, 3))
        both[..., :2] = flat[start[mesh].T[:, :, None] + np.arange(k)]
        fronts |= zip(mesh.tolist(), both[1], strict=True)
        other = _apart(both[1, ..., :2], both[0, ..., :2])
        backs |= zip(mesh[other].tolist(), both[0, other], strict=True)
    listed: dict[int, tuple[list[Floats], list[Floats]]] = {i: ([], []) for i in np.flatnonzero(~single & count.any(axis=1)).tolist()}
    for r in ring[~single[rim.mesh[ring]]].tolist():
        listed[int(rim.mesh[r])][rim.plane[r]].append(flat[rim.starts[r] : rim.starts[r + 1]])
    for i, (near, far) in listed.items():
        fronts[i], back = numbered(far), numbered(near)
        if differ(fronts[i], back):
            backs[i] = back
    return fronts, backs


def _largest(rim: Rims, size: Floats, order: Ints, meshes: int) -> tuple[Ints, Ints]:
    """For the near and the far plane of every mesh its largest ring (0 where there is none)."""
    out = []
    for plane in (0, 1):
        mine = order[(rim.plane[order] == plane) & (size[order] > 0)]
        ring = np.zeros(meshes, dtype=np.int64)
        mesh, first = np.unique(rim.mesh[mine], return_index=True)
        ring[mesh] = mine[first]
        out.append(ring)
    return out[0], out[1]


def _longest_edge(rim: Rims, points: Floats, ring: Ints) -> Floats:
    """(m, 3) the longest edge of a ring per mesh."""
    if not len(rim.vertex):
        return np.ones((len(ring), 3))
    p = points[rim.vertex]
    _, after = neighbours(rim.starts, len(p))
    edge = p[after] - p
    length = np.round(np.linalg.norm(edge, axis=1), 3)
    owner = np.repeat(np.arange(len(rim.mesh)), np.diff(rim.starts))
    order = np.lexsort((np.arange(len(p)), -length, owner))
    return edge[order[rim.starts[:-1]]][ring]


def differ(front: Floats, back: Floats) -> bool:
    """Whether two numbered outlines in one frame are not the same shape at the same place."""
    return len(front) != len(back) or bool(_apart(front[None, :, :2], back[None, :, :2])[0])


def _apart(a: Floats, b: Floats) -> NDArray[np.bool_]:
    """(m,) whether outlines (m, k, 2) are not the same: their extents, and of each corner a partner in any order."""
    ends = np.abs(np.stack([a.min(axis=1) - b.min(axis=1), a.max(axis=1) - b.max(axis=1)])).max(axis=(0, 2), initial=0.0)
    if a.shape[1] > MOST_CORNERS:
        return ends > NEAR
    step = max(1, PAIRS // a.shape[1] ** 2)
    gap = [np.abs(a[i : i + step, :, None] - b[i : i + step, None]).max(axis=3).min(axis=2).max(axis=1) for i in range(0, len(a), step)]
    return (ends > NEAR) | (np.concatenate(gap) > NEAR)
