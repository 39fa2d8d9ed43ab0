"""Rectangular boxes among bodies given by their faces: eight corners, square edges, closed.  They are prisms."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.bodies import Prism, Shell

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
TRUE = 0.005  # mm; corners are this close to those of a box
CORNERS = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)], dtype=float)


def boxes(shells: Sequence[Shell | None]) -> dict[int, Prism]:
    """Position in `shells` -> the box it is; the others are left out."""
    found: dict[int, Prism] = {}
    for sides, count in ((4, 6), (3, 12)):
        at = [i for i, s in enumerate(shells) if s is not None and _may_be(s, sides, count)]
        if at:
            found |= _boxes(at, [shells[i] for i in at], sides)  # type: ignore[misc]
    return found


def _may_be(shell: Shell, sides: int, count: int) -> bool:
    return len(shell.points) == 8 and len(shell.loops) == count and all(len(x) == sides for x in shell.loops)


def _boxes(at: list[int], shells: list[Shell], sides: int) -> dict[int, Prism]:
    points = np.array([s.points for s in shells])
    loops = np.array([s.loops for s in shells], dtype=np.int64)
    corner, edges = _edges(points)
    good = _square(points, corner, edges) & _closed(points, loops, edges)
    length = np.linalg.norm(edges, axis=2)
    with np.errstate(invalid="ignore", divide="ignore"):
        axes = edges / length[:, :, None]
    axes[:, 1] -= np.einsum("ij,ij->i", axes[:, 0], axes[:, 1])[:, None] * axes[:, 0]
    left = np.einsum("ij,ij->i", np.cross(axes[:, 0], axes[:, 1]), axes[:, 2]) < 0
    axes[left, :2], length[left, :2] = axes[left, 1::-1], length[left, 1::-1]
    ring = np.zeros((len(at), 4, 2))
    ring[:, 1:3, 0], ring[:, 2:, 1] = length[:, :1], length[:, 1:2]
    frame = np.zeros((len(at), 4, 4))
    frame[:, :3, :3], frame[:, :3, 3], frame[:, 3, 3] = np.swapaxes(axes, 1, 2), corner, 1.0
    vector = np.zeros((len(at), 3))
    vector[:, 2] = length[:, 2]
    return {at[i]: Prism([ring[i]], frame[i], vector[i], False) for i in np.flatnonzero(good).tolist()}


def _edges(points: Floats) -> tuple[Floats, Floats]:
    """A corner (m, 3) and the three edges (m, 3, 3) from it: its two nearest corners, then the first that is not their sum."""
    rows = np.arange(len(points))
    away = points - points[:, :1]
    order = np.argsort(np.einsum("mij,mij->mi", away, away), axis=1, kind="stable")
    a, b, c = (away[rows, order[:, k]] for k in (1, 2, 3))
    across = np.abs(c - a - b).max(axis=1) < TRUE
    c = np.where(across[:, None], away[rows, order[:, 4]], c)
    return points[:, 0], np.stack([a, b, c], axis=1)


def _square(points: Floats, corner: Floats, edges: Floats) -> NDArray[np.bool_]:
    length = np.linalg.norm(edges, axis=2)
    dots = np.abs(np.stack([np.einsum("ij,ij->i", edges[:, i], edges[:, j]) for i, j in ((0, 1), (1, 2), (0, 2))], axis=1))
    square = dots.max(axis=1) < TRUE * length.min(axis=1)
    wanted = corner[:, None] + np.einsum("kj,mji->mki", CORNERS, edges)
    gap = np.abs(wanted[:, :, None] - points[:, None]).max(axis=3).min(axis=2).max(axis=1)
    return square & (gap < TRUE) & (length.min(axis=1) > 2 * TRUE)


def _closed(points: Floats, loops: Ints, edges: Floats) -> NDArray[np.bool_]:
    """Faces that enclose the box's volume, seen from its middle: none is missing, doubled or turned."""
    rows = np.arange(len(points))[:, None]
    local = points - points.mean(axis=1, keepdims=True)
    total = np.zeros(len(points))
    for k in range(1, loops.shape[2] - 1):
        p, q, r = (local[rows, loops[:, :, i]] for i in (0, k, k + 1))
        total += np.einsum("mfi,mfi->m", p, np.cross(q, r)) / 6
    box = np.abs(np.linalg.det(edges))
    return np.abs(np.abs(total) - box) < 1e-6 * box
