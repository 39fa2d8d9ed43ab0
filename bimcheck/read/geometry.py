"""Bodies of elements in world coordinates: as plates for panels, as triangles for what stands behind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged
from bimcheck.read.bodies import Prism, Shell
from bimcheck.read.collect import collect
from bimcheck.read.found import NO_PLATE, Found
from bimcheck.read.openings import cut_openings
from bimcheck.read.place import Placer
from bimcheck.read.plates import per_element, read_plates, to_world
from bimcheck.read.prisms import shell_of

Floats = NDArray[np.float64]
TAPER = 0.3  # mm of thickness from which a panel is tapered
UPRIGHT = 1e-4


@dataclass(frozen=True)
class Plates:
    """Columns over n elements, world, mm.  form: flat, curved, tapered, folded, or solid (no plate).  reason: blank,
    no-geometry, zero-thickness or degenerate-geometry."""

    origin: Floats
    u: Floats
    v: Floats
    n: Floats
    outline: Ragged
    outline_back: Ragged
    thickness: Floats
    thickness_max: Floats
    form: NDArray[Any]
    sagitta: Floats
    reason: NDArray[Any]


def placements(file: Any, step_ids: Sequence[int], unit_mm: float) -> Floats:
    """(n, 4, 4) world matrices, translations in mm."""
    return Placer(unit_mm).many([file.by_id(i)[5] for i in step_ids])


def bodies(file: Any, step_ids: Sequence[int], unit_mm: float, taper: float = TAPER) -> Plates:
    """Plates of the elements, in the order asked."""
    placer, elements = Placer(unit_mm), [file.by_id(i) for i in step_ids]
    collected = collect(file, placer, elements)
    found = per_element(read_plates(collected.body, taper), collected.index)
    matrices = placer.many([e[5] for e in elements])
    cut_openings(file, placer, elements, _voids(file), found, matrices, taper)
    _upright(found, matrices)
    to_world(found, matrices)
    solid = found.state == NO_PLATE
    return Plates(found.origin, found.u, found.v, found.n, Ragged.of(found.outline, (3,)), Ragged.of(found.back, (3,)),
                  found.thickness, found.thickness_max, np.where(solid, "solid", found.form).astype(object), found.sagitta,
                  np.where(solid, "", found.state).astype(object))


def _voids(file: Any) -> dict[int, list[Any]]:
    voids: dict[int, list[Any]] = {}
    for relation in file.by_type("IfcRelVoidsElement"):
        if relation[4] is not None and relation[5] is not None and relation[5].is_a("IfcOpeningElement"):
            voids.setdefault(relation[4].id(), []).append(relation[5])
    return voids


def _upright(found: Found, matrices: Floats) -> None:
    """Of the two readings of a body with faces that are not parallel, the one whose face stands upright is the front."""
    for row, other in found.other.items():
        z = matrices[row, 2, :3]
        if abs(other.n @ z) < abs(found.n[row] @ z) - UPRIGHT:
            found.put_odd(row, other)


def meshes(file: Any, step_ids: Sequence[int], unit_mm: float) -> tuple[list[int], Ragged, Floats]:
    """(ids as asked, triangles (k, 9) world mm, boxes (n, 6)); elements without a body have no triangle and a nan box."""
    placer, elements = Placer(unit_mm), [file.by_id(i) for i in step_ids]
    collected = collect(file, placer, elements)
    local = Ragged.of([_triangles(b) for b in collected.body] or [np.empty((0, 9))], (9,))
    known = np.where(collected.index >= 0, collected.index, 0)
    taken = local.take(known)
    keep = (collected.index >= 0)[taken.rows]
    lengths = np.where(collected.index >= 0, taken.lengths, 0)
    rows, corners = taken.rows[keep], taken.values[keep].reshape(-1, 3, 3)
    matrices = placer.many([e[5] for e in elements])
    world = np.einsum("kij,kpj->kpi", matrices[rows, :3, :3], corners) + matrices[rows, None, :3, 3]
    triangles = Ragged(world.reshape(-1, 9), np.concatenate([[0], np.cumsum(lengths)]).astype(np.int64))
    return list(step_ids), triangles, _boxes(triangles)


def _boxes(triangles: Ragged) -> Floats:
    box = np.full((len(triangles), 6), np.nan)
    some = np.flatnonzero(triangles.lengths > 0)
    if len(some):
        starts, points = triangles.offsets[some], triangles.values.reshape(-1, 3, 3)
        box[some, :3] = np.minimum.reduceat(points.min(axis=1), starts)
        box[some, 3:] = np.maximum.reduceat(points.max(axis=1), starts)
    return box


def _triangles(body: Prism | Shell | None) -> Floats:
    """(k, 9) of one body in its own frame."""
    if body is None:
        return np.empty((0, 9))
    shell = shell_of(body) if isinstance(body, Prism) else body
    faces: dict[int, list[Floats]] = {}
    for loop, face in zip(shell.loops, shell.face, strict=True):
        faces.setdefault(face, []).append(shell.points[np.asarray(loop)])
    parts = [_face(loops) for loops in faces.values()]
    return np.concatenate(parts) if parts else np.empty((0, 9))


def _face(loops: list[Floats]) -> Floats:
    first = loops[0]
    if len(loops) == 1 and (len(first) <= 3 or _convex(first)):
        count = len(first) - 2
        return np.array([np.concatenate([first[0], first[i + 1], first[i + 2]]) for i in range(count)]).reshape(-1, 9)
    return _any_face(loops)


def _normal(loop: Floats) -> Floats:
    """Newell's normal."""
    after = np.roll(loop, -1, axis=0)
    return np.cross(loop - loop[0], after - loop[0]).sum(axis=0)


def _convex(loop: Floats) -> bool:
    n = _normal(loop)
    edges = np.roll(loop, -1, axis=0) - loop
    turns = np.cross(edges, np.roll(edges, -1, axis=0)) @ n
    return bool((turns >= -1e-9 * np.abs(turns).max(initial=0.0)).all())


def _any_face(loops: list[Floats]) -> Floats:
    """Constrained triangles of a face with corners that turn in, or with holes."""
    outer = max(loops, key=lambda p: float(np.linalg.norm(_normal(p))))
    n = _normal(outer)
    if not np.linalg.norm(n) > 0:
        return np.empty((0, 9))
    n = n / np.linalg.norm(n)
    u = np.cross(n, np.eye(3)[np.argmin(np.abs(n))])
    u = u / np.linalg.norm(u)
    axes, base = np.array([u, np.cross(n, u)]), outer[0]
    flat = shapely.Polygon((outer - base) @ axes.T, [(p - base) @ axes.T for p in loops if p is not outer])
    pieces = shapely.constrained_delaunay_triangles(shapely.make_valid(flat))
    corners = [np.array(t.exterior.coords)[:3] @ axes + base for t in pieces.geoms]
    return np.array(corners).reshape(-1, 9)
