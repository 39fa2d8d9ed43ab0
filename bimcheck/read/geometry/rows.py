"""What is asked about elements by number: plates, triangles, placements.

World means the file's engineering coordinates: all placements applied, no map conversion, and no
WorldCoordinateSystem of the context, which is the identity in practice.  Bodies are read in their elements' own
frames and moved afterwards in float64, so that coordinates of 5.8e9 mm cost no digits of a width.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged
from bimcheck.read.found import NO_PLATE, Found
from bimcheck.read.geometry.frames import world
from bimcheck.read.geometry.gather import gather
from bimcheck.read.openings import cut_openings
from bimcheck.read.place import Placer
from bimcheck.read.plates import per_element, read_plates, to_world
from bimcheck.read.sides import choose_faces
from bimcheck.read.triangles import triangles

Floats = NDArray[np.float64]
TAPER = 0.3  # mm of thickness from which a plate is tapered


@dataclass(frozen=True)
class Bodies:
    """Columns over n elements, world, mm.

    origin, u, v, n: (n, 3), u x v = n; the body lies between the plane at origin and that at origin - thickness * n,
    either of which may be the weather face.  outline, outline_back: (k, 3) x, y along u, v and ring number, 0 the outline
    counter-clockwise, 1.. cut-outs; back is empty where it does not differ.  thickness, thickness_max: least and greatest
    normal to the face.  form: flat, curved, tapered, folded, or solid where the body is no plate.
    reason: '' or no-geometry, zero-thickness, degenerate-geometry; then the other columns hold nan and no outline.
    """

    origin: Floats
    u: Floats
    v: Floats
    n: Floats
    outline: Ragged
    outline_back: Ragged
    thickness: Floats
    thickness_max: Floats
    sagitta: Floats
    form: NDArray[Any]
    reason: NDArray[Any]


def bodies(file: Any, step_ids: Sequence[int], unit_mm: float, taper: float = TAPER) -> Bodies:
    """Plates of the elements, in the order asked.  unit_mm: mm of the file's length unit."""
    elements = [file.by_id(i) for i in step_ids]
    found = plates_of(file, Placer(unit_mm), elements, voids_of(file), taper)
    solid = found.state == NO_PLATE
    return Bodies(found.origin, found.u, found.v, found.n, turned(Ragged.of(found.outline, (3,))), turned(Ragged.of(found.back, (3,))),
                  found.thickness, found.thickness_max, found.sagitta, np.where(solid, "solid", found.form).astype(object),
                  np.where(solid, "", found.state).astype(object))


def plates_of(file: Any, placer: Placer, elements: Sequence[Any], voids: dict[int, list[Any]], taper: float) -> Found:
    """Plates in world coordinates, openings cut.  voids: openings by element number."""
    collected = gather(file, placer, elements)
    found = per_element(read_plates(collected.body, taper), collected.index)
    matrices = world(placer, elements)
    cut_openings(file, placer, elements, voids, found, matrices, taper)
    to_world(found, matrices)
    choose_faces(found, matrices)
    return found


def voids_of(file: Any) -> dict[int, list[Any]]:
    """Openings by the number of the element they cut."""
    voids: dict[int, list[Any]] = {}
    for relation in file.by_type("IfcRelVoidsElement"):
        if relation[4] is not None and relation[5] is not None:
            voids.setdefault(relation[4].id(), []).append(relation[5])
    return voids


def turned(outlines: Ragged) -> Ragged:
    """Outlines with ring 0 counter-clockwise and the others clockwise."""
    rows, ring = outlines.rows, outlines.values[:, 2].astype(np.int64)
    k = len(ring)
    if not k:
        return outlines
    first = np.flatnonzero(np.r_[True, (np.diff(rows) != 0) | (np.diff(ring) != 0)])
    length = np.diff(np.r_[first, k])
    head = np.repeat(first, length)
    after = np.arange(1, k + 1)
    after[first + length - 1] = first
    p = outlines.values[:, :2] - outlines.values[head, :2]
    area = np.add.reduceat(p[:, 0] * p[after, 1] - p[after, 0] * p[:, 1], first)
    against = np.repeat((area < 0) != (ring[first] > 0), length)
    at = np.arange(k)
    mirrored = 2 * head + np.repeat(length, length) - 1 - at
    return Ragged(outlines.values[np.where(against, mirrored, at)], outlines.offsets)


def placements(file: Any, step_ids: Sequence[int], unit_mm: float) -> Floats:
    """(n, 4, 4) world matrices, translations in mm."""
    return world(Placer(unit_mm), [file.by_id(i) for i in step_ids])


def meshes(file: Any, step_ids: Sequence[int], unit_mm: float) -> tuple[NDArray[np.int64], Ragged, Floats]:
    """(numbers as asked, triangles (k, 9) of each, boxes (n, 6) least and greatest x, y, z), world, mm; openings not cut.

    Elements without a body have no triangle and a box of nan.
    """
    elements, placer = [file.by_id(i) for i in step_ids], Placer(unit_mm)
    collected = gather(file, placer, elements)
    local = Ragged.of([np.empty((0, 3, 3)), *triangles(collected.body)], (3, 3)).take(collected.index + 1)
    matrix = world(placer, elements)[local.rows]
    moved = np.einsum("nij,nkj->nki", matrix[:, :3, :3], local.values) + matrix[:, None, :3, 3]
    box = np.full((len(elements), 6), np.nan)
    some = np.flatnonzero(local.lengths > 0)
    if len(some):
        starts = local.offsets[some]
        box[some, :3] = np.minimum.reduceat(moved.min(axis=1), starts)
        box[some, 3:] = np.maximum.reduceat(moved.max(axis=1), starts)
    return np.asarray(step_ids, dtype=np.int64), Ragged(moved.reshape(-1, 9), local.offsets), box
