"""Bodies as triangles, many at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.read.bodies import Body, Prism, Shell
from bimcheck.read.found import HUGE
from bimcheck.read.polygons import polygon, ring_area

Floats = NDArray[Any]  # of float64
NONE: Floats = np.empty((0, 3, 3))


def triangles(bodies: Sequence[Body | None]) -> list[Floats]:
    """(k, 3, 3) a body in its own frame, mm; empty where there is none."""
    out = [NONE] * len(bodies)
    by_corners: dict[int, list[int]] = defaultdict(list)
    for i, body in enumerate(bodies):
        if isinstance(body, Shell):
            out[i] = shell_triangles(body)
        elif isinstance(body, Prism) and len(body.rings) == 1 and 3 <= len(body.rings[0]) <= 64:
            by_corners[len(body.rings[0])].append(i)
        elif isinstance(body, Prism) and body.rings and len(body.rings[0]) >= 3:
            out[i] = _caps_and_sides(body)
    for k, rows in by_corners.items():
        prisms = [bodies[i] for i in rows]
        convex = _convex(np.array([p.rings[0] for p in prisms]))  # type: ignore[union-attr]
        for row, prism, found, plain in zip(rows, prisms, _prisms(prisms, k), convex.tolist(), strict=True):  # type: ignore[arg-type]
            out[row] = found if plain else _caps_and_sides(prism)  # type: ignore[arg-type]
    return [t if len(t) and np.abs(t).max() < 1e15 and np.ptp(t.reshape(-1, 3), axis=0).max() < HUGE else NONE for t in out]


def _convex(rings: Floats) -> NDArray[np.bool_]:
    """(n,) of rings (n, k, 2): all corners turn the same way."""
    edge = np.roll(rings, -1, axis=1) - rings
    after = np.roll(edge, -1, axis=1)
    turn = edge[:, :, 0] * after[:, :, 1] - edge[:, :, 1] * after[:, :, 0]
    return np.asarray((turn >= 0).all(axis=1) | (turn <= 0).all(axis=1))


def _prisms(prisms: Sequence[Prism], k: int) -> Floats:
    """(n, t, 3, 3) of prisms over convex rings of k points."""
    ring = np.zeros((len(prisms), 2 * k, 3))
    ring[:, :k, :2] = ring[:, k:, :2] = np.array([p.rings[0] for p in prisms])
    ring[:, k:] += np.array([p.vector for p in prisms])[:, None]
    matrix = np.array([p.matrix for p in prisms])
    points = np.einsum("nij,nkj->nki", matrix[:, :3, :3], ring) + matrix[:, None, :3, 3]
    return points[:, _fan(k)]


def _fan(k: int) -> NDArray[np.int64]:
    low = [(0, i + 1, i) for i in range(1, k - 1)]
    high = [(k, k + i, k + i + 1) for i in range(1, k - 1)]
    sides = [t for i in range(k) for t in ((i, (i + 1) % k, k + (i + 1) % k), (i, k + (i + 1) % k, k + i))]
    return np.array(low + high + sides)


def _caps_and_sides(prism: Prism) -> Floats:
    rings = [r for r in prism.rings if len(r) >= 3]
    flat = flat_triangles(rings)
    cap = np.concatenate([flat, np.zeros((*flat.shape[:2], 1))], axis=2)
    sides = []
    for ring in rings:
        a = np.column_stack([ring, np.zeros(len(ring))])
        b = np.roll(a, -1, axis=0)
        sides += [np.stack([a, b, b + prism.vector], 1), np.stack([a, b + prism.vector, a + prism.vector], 1)]
    every = np.concatenate([cap, cap + prism.vector, *sides])
    return every @ prism.matrix[:3, :3].T + prism.matrix[:3, 3]


def flat_triangles(rings: Sequence[Floats]) -> Floats:
    """(t, 3, 2) of a polygon with holes."""
    shape = polygon(rings)
    if shape.is_empty:
        return np.empty((0, 3, 2))
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    return shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]


def shell_triangles(shell: Shell) -> Floats:
    """Triangles as they are, convex faces as fans, others by their plane."""
    faces: dict[int, list[NDArray[np.int64]]] = defaultdict(list)
    for number, loop in zip(shell.face, shell.loops, strict=True):
        if len(loop) >= 3:
            faces[number].append(np.asarray(loop))
    plain = [loops[0] for loops in faces.values() if len(loops) == 1 and len(loops[0]) == 3]
    out = [shell.points[np.array(plain)]] if plain else []
    for loops in faces.values():
        if len(loops) > 1 or len(loops[0]) > 3:
            out.append(_face([shell.points[x] for x in loops]))
    return np.concatenate(out) if out else NONE


def _face(loops: Sequence[Floats]) -> Floats:
    first = loops[0]
    vector = np.cross(first - first[0], np.roll(first, -1, axis=0) - first[0]).sum(axis=0)
    size = float(np.linalg.norm(vector))
    if not size > 1e-9:
        return NONE
    if len(loops) == 1 and len(first) == 4 and _convex_loop(first, vector):
        return first[[[0, 1, 2], [0, 2, 3]]]
    n = vector / size
    u = np.cross(n, np.eye(3)[int(np.argmin(np.abs(n)))])
    u /= np.linalg.norm(u)
    axes = np.array([u, np.cross(n, u)])
    flat = flat_triangles(sorted(((r - first[0]) @ axes.T for r in loops), key=lambda r: -abs(ring_area(r))))
    return first[0] + flat @ axes


def _convex_loop(loop: Floats, normal: Floats) -> bool:
    edge = np.roll(loop, -1, axis=0) - loop
    return bool((np.cross(edge, np.roll(edge, -1, axis=0)) @ normal >= 0).all())
