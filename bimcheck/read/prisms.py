"""Prisms as plates, many at once: thickness along the extrusion or in the profile."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.read.bodies import Prism, Shell
from bimcheck.read.found import DEGENERATE, FLAT, HUGE, ZERO, Found
from bimcheck.read.polygons import cleaned, numbered, perimeter, ring_area

Floats = NDArray[Any]  # of float64
Ints = NDArray[np.int64]


def read_prisms(prisms: Sequence[Prism], rows: Ints, found: Found) -> list[int]:
    """Fill `found` at `rows`; returns the positions in `prisms` that need a look at all their faces."""
    quads, others = [], []
    rings = [cleaned(p.rings[0]) if len(p.rings) == 1 and 4 < len(p.rings[0]) <= 8 else p.rings[0] for p in prisms]
    for i, p in enumerate(prisms):
        (quads if len(p.rings) == 1 and len(rings[i]) == 4 and not p.arcs else others).append(i)
    four = [prisms[i] for i in quads]
    left = read_quads(np.array([rings[i] for i in quads]), np.array([p.vector for p in four]), np.array([p.matrix for p in four]),
                      rows[quads], found) if quads else np.empty(0, int)
    return [quads[i] for i in left] + [i for i in others if not _by_caps(prisms[i], int(rows[i]), found)]


def read_quads(ring: Floats, e: Floats, matrix: Floats, rows: Ints, found: Found) -> Ints:
    """Prisms over rings (k, 4, 2): the pair of faces with the largest area are the plate's."""
    base = ring[:, 0]
    flat = np.zeros((len(ring), 4, 3))
    flat[:, :, :2] = ring - base[:, None]
    a, b = flat[:, 1], flat[:, 3]
    skew = np.linalg.norm(flat[:, 2] - a - b, axis=1) > 1e-3
    spans = np.stack([np.stack([a, b, e], 1), np.stack([a, e, b], 1), np.stack([b, e, a], 1)], 1)  # p, q, r of each pair of faces
    with np.errstate(over="ignore", invalid="ignore"):  # sizes beyond any measure are sorted out below
        areas = np.linalg.norm(np.cross(spans[:, :, 0], spans[:, :, 1]), axis=2)
    best = np.argmax(areas, axis=1)
    at = np.arange(len(rows))
    p, q, r = (spans[at, best, k] for k in range(3))
    area = areas[at, best]
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        n = np.cross(p, q) / area[:, None]
        depth = np.einsum("ij,ij->i", r, n)
        oblique = np.linalg.norm(r - depth[:, None] * n, axis=1) > 0.05
    size = np.maximum(np.abs(flat).max(axis=(1, 2)), np.abs(e).max(axis=1))
    broken = ~(size < HUGE) | ~(area > 1.0) | _crossing(flat)
    thin = ~broken & (np.abs(depth) < FLAT)
    found.state[rows[broken]], found.state[rows[thin]] = DEGENERATE, ZERO
    odd = ~broken & ~thin & (oblique | (skew & (best != 0)))
    good = ~(broken | thin | odd)
    corners = np.stack([np.zeros_like(p), p, p + q, q], 1)
    corners[skew] = flat[skew]
    origin = np.column_stack([base, np.zeros(len(base))]) + np.where(depth > 0, depth, 0.0)[:, None] * n
    _put(found, rows[good], matrix[good], origin[good], p[good], n[good], corners[good], np.abs(depth[good]))
    return np.flatnonzero(odd)


def _crossing(flat: Floats) -> NDArray[np.bool_]:
    """(n,) four-sided rings that cross themselves: two corners turn left and two right."""
    edge = np.roll(flat, -1, axis=1) - flat
    after = np.roll(edge, -1, axis=1)
    with np.errstate(over="ignore", invalid="ignore"):
        turn = edge[:, :, 0] * after[:, :, 1] - edge[:, :, 1] * after[:, :, 0]
    return ((turn > 0).sum(axis=1) == 2) & ((turn < 0).sum(axis=1) == 2)


def _put(found: Found, rows: Ints, matrix: Floats, origin: Floats, p: Floats, n: Floats, corners: Floats, t: Floats) -> None:
    u = p / np.linalg.norm(p, axis=1, keepdims=True)
    v = np.cross(n, u)
    outline = np.zeros((len(rows), 4, 3))
    outline[:, :, 0], outline[:, :, 1] = np.einsum("ikj,ij->ik", corners, u), np.einsum("ikj,ij->ik", corners, v)
    turn = matrix[:, :3, :3]
    axes = [np.einsum("ijk,ik->ij", turn, x) for x in (origin, u, v, n)]
    axes[0] = axes[0] + matrix[:, :3, 3]
    found.put(rows, axes, t, list(outline))


def _by_caps(prism: Prism, row: int, found: Found) -> bool:
    """A prism whose profile is the face of the plate; False where its sides may be."""
    rings, e = [cleaned(r) for r in prism.rings], prism.vector
    if not rings or any(len(r) < 3 for r in rings):
        found.state[row] = DEGENERATE
        return True
    size = max(float(np.ptp(rings[0], axis=0).max()), float(np.abs(e).max()))
    area = abs(ring_area(rings[0]))
    if not size < HUGE or not area > 1.0 or not shapely.Polygon(rings[0]).is_valid:
        found.state[row] = DEGENERATE
        return True
    if abs(e[2]) < FLAT:
        found.state[row] = ZERO
        return True
    if abs(e[2]) > 2 * area / perimeter(rings[0]) or np.hypot(e[0], e[1]) > 0.05:
        return False
    base = rings[0][0]
    turn = prism.matrix[:3, :3]
    origin = turn @ np.array([*base, max(e[2], 0.0)]) + prism.matrix[:3, 3]
    axes = [x[None] for x in (origin, turn[:, 0], turn[:, 1], turn[:, 2])]
    found.put(np.array([row]), axes, np.array([abs(e[2])]), [numbered([r - base for r in rings])])
    return True


def shell_of(prism: Prism) -> Shell:
    """All faces of a prism."""
    rings = [r for r in prism.rings if len(r) >= 3]
    flat = np.concatenate(rings) if rings else np.empty((0, 2))
    base = np.column_stack([flat, np.zeros(len(flat))])
    k = len(base)
    points = np.concatenate([base, base + prism.vector]) @ prism.matrix[:3, :3].T + prism.matrix[:3, 3]
    loops, face, at, count = [], [], 0, 2
    for ring in rings:
        index = np.arange(at, at + len(ring))
        loops += [index[::-1], index + k]
        face += [0, 1]
        after = np.roll(index, -1)
        sides = np.column_stack([index, after, after + k, index + k])
        loops += list(sides)
        face += range(count, count + len(sides))
        count += len(sides)
        at += len(ring)
    order = np.argsort(face, kind="stable")
    return Shell(points, [loops[i] for i in order], [face[i] for i in order])
