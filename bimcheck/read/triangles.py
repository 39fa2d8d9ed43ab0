"""Bodies as triangles, many at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged
from bimcheck.read.bodies import Body, Prism, Shell
from bimcheck.read.collect import Bodies
from bimcheck.read.found import HUGE
from bimcheck.read.polygons import polygon, ring_area

Floats = NDArray[Any]  # of float64
FARTHEST = 1e15  # mm from the body's own zero
Ints = NDArray[np.int64]
NONE: Floats = np.empty((0, 3, 3))


def triangles(bodies: Bodies, index: Ints) -> Ragged:
    """(m, 9) triangles of bodies by index, each in its own frame, mm; none where there is no body."""
    single = Ragged.of([t.reshape(-1, 9) for t in _one_by_one(bodies.body)], (9,))
    quads = bodies.quads
    convex = _convex(quads.ring)
    many = _prisms(*(x if convex.all() else x[convex] for x in (quads.ring, quads.vector, quads.matrix)))
    other = Ragged.of([_caps_and_sides(quads.prism(k)).reshape(-1, 9) for k in np.flatnonzero(~convex).tolist()], (9,))
    lengths = np.concatenate([single.lengths, np.full(len(many), many.shape[1]), other.lengths])
    every = Ragged(np.concatenate([single.values, many.reshape(-1, 9), other.values]), np.r_[0, np.cumsum(lengths)].astype(np.int64))
    place = np.arange(len(single))
    place[quads.body[convex]] = len(single) + np.arange(len(many))
    place[quads.body[~convex]] = len(single) + len(many) + np.arange(len(other))
    return (_finite(every) if len(every.values) else every).take(place[index])


def _finite(found: Ragged) -> Ragged:
    """Without bodies beyond any size."""
    use = np.flatnonzero(found.lengths > 0)
    starts = found.offsets[:-1][use]
    low, high = (f.reduceat(x, starts) for f, x in zip((np.minimum, np.maximum), ends(found.values), strict=True))
    with np.errstate(invalid="ignore", over="ignore"):
        good = (np.maximum(np.abs(low), np.abs(high)).max(axis=1) < FARTHEST) & ((high - low).max(axis=1) < HUGE)
    if good.all():
        return found
    keep = np.zeros(len(found), bool)
    keep[use[good]] = True
    return Ragged(found.values[keep[found.rows]], np.r_[0, np.cumsum(np.where(keep, found.lengths, 0))].astype(np.int64))


def ends(triangles: Floats) -> tuple[Floats, Floats]:
    """(k, 3) least and greatest coordinates of triangles (k, 9)."""
    a, b, c = triangles[:, :3], triangles[:, 3:6], triangles[:, 6:]
    return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)


def _one_by_one(bodies: Sequence[Body | None]) -> list[Floats]:
    """(k, 3, 3) a body; empty where there is none."""
    out = [NONE] * len(bodies)
    by_corners: dict[int, list[int]] = defaultdict(list)
    for i, body in enumerate(bodies):
        if isinstance(body, Shell):
            out[i] = shell_triangles(body)
        elif isinstance(body, Prism) and len(body.rings) == 1 and 3 <= len(body.rings[0]) <= 64:
            by_corners[len(body.rings[0])].append(i)
        elif isinstance(body, Prism) and body.rings and len(body.rings[0]) >= 3:
            out[i] = _caps_and_sides(body)
    for rows in by_corners.values():
        prisms: list[Prism] = [bodies[i] for i in rows]  # type: ignore[misc]
        rings, vectors, matrices = (np.array(x) for x in zip(*((p.rings[0], p.vector, p.matrix) for p in prisms), strict=True))
        for row, prism, found, plain in zip(rows, prisms, _prisms(rings, vectors, matrices), _convex(rings).tolist(), strict=True):
            out[row] = found if plain else _caps_and_sides(prism)
    return out


def _convex(rings: Floats) -> NDArray[np.bool_]:
    """(n,) of rings (n, k, 2): all corners turn the same way."""
    edge = np.roll(rings, -1, axis=1) - rings
    after = np.roll(edge, -1, axis=1)
    turn = edge[:, :, 0] * after[:, :, 1] - edge[:, :, 1] * after[:, :, 0]
    return np.asarray((turn >= 0).all(axis=1) | (turn <= 0).all(axis=1))


def _prisms(rings: Floats, vectors: Floats, matrix: Floats) -> Floats:
    """(n, t, 3, 3) of prisms over convex rings (n, k, 2)."""
    k = rings.shape[1]
    ring = np.zeros((len(rings), 2 * k, 3))
    ring[:, :k, :2] = ring[:, k:, :2] = rings
    ring[:, k:] += vectors[:, None]
    points = ring @ matrix[:, :3, :3].transpose(0, 2, 1) + matrix[:, None, :3, 3]
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
