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
    face = [[[] for _ in range(soup.meshes)] for _ in (0, 1)]
    for ring in order[(size[order] > 0) & np.isin(order, np.concatenate(outer)) | (size[order] < 0)].tolist():
        if good[rim.mesh[ring]]:
            face[rim.plane[ring]][rim.mesh[ring]].append(flat[rim.starts[ring] : rim.starts[ring + 1]])
    at = np.flatnonzero(good)
    fronts = [numbered(face[1][i]) for i in at]
    found.put(own[at], [(origin + soup.base)[at], u[at], v[at], seen.normal[at]], (seen.far - seen.near)[at], fronts)
    for i, front in zip(at.tolist(), fronts, strict=True):
        back = numbered(face[0][i])
        if differ(front, back):
            found.back[own[i]] = back


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
    """Whether two outlines in one frame are not the same shape at the same place."""
    if len(front) != len(back):
        return True
    a, b = front[:, :2], back[:, :2]
    if np.abs(a.min(axis=0) - b.min(axis=0)).max() > NEAR or np.abs(a.max(axis=0) - b.max(axis=0)).max() > NEAR:
        return True
    # Same corners in another order: each has a partner.
    gap = np.abs(a[:, None] - b[None]).max(axis=2).min(axis=1) if len(a) <= 400 else np.zeros(1)
    return bool(gap.max() > NEAR)
