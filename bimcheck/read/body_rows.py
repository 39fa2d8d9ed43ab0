"""Bodies of elements as arrays in world coordinates: plates for what may be a panel, triangles for what stands about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import ifcopenshell.geom
import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged
from bimcheck.read import openings, plates
from bimcheck.read.blocks import blocks
from bimcheck.read.collect import collect
from bimcheck.read.found import NO_PLATE
from bimcheck.read.links import Links
from bimcheck.read.place import Placer

Floats = NDArray[np.float64]
KERNELS = ("hybrid-manifold-opencascade", "opencascade")  # the fast one first; what it drops is asked from the other


@dataclass(frozen=True)
class Bodies:
    """Arrays over n elements, world, mm.  reason: '' or no-geometry, zero-thickness, degenerate-geometry.

    form: flat, curved, tapered, folded, or solid where the body is no plate (no outline then).
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


def bodies(file: Any, elements: Sequence[Any], links: Links, factor: float, taper: float) -> Bodies:
    """One row an element, in their order.  factor: mm of the file's length unit; taper: mm from which a plate is tapered."""
    placer = Placer(factor)
    matrices = placer.many([e[5] for e in elements])
    unique = collect(file, placer, elements)
    found = plates.per_element(plates.read_plates(unique.body, taper), unique.index)
    openings.cut_openings(file, placer, elements, links.voids, found, matrices, taper)
    plates.to_world(found, matrices)
    solid = found.state == NO_PLATE
    return Bodies(found.origin, found.u, found.v, found.n, Ragged.of(found.outline, (3,)), Ragged.of(found.back, (3,)),
                  found.thickness, found.thickness_max, found.sagitta, np.where(solid, "solid", found.form).astype(object),
                  np.where(solid, "", found.state).astype(object))


def heights(elements: Sequence[Any], factor: float) -> Floats:
    """(n,) world z of the placements, mm."""
    return Placer(factor).many([e.ObjectPlacement for e in elements])[:, 2, 3]


def meshes(file: Any, elements: Sequence[Any], factor: float) -> tuple[NDArray[np.int64], Ragged, Floats]:
    """(numbers, triangles (k, 9) of each, boxes (n, 6)), world, mm, by rising number; without what no kernel can mesh."""
    placer = Placer(factor)
    rows, plain = blocks(elements, placer)
    local = {elements[row].id(): triangles for row, triangles in zip(rows, plain, strict=True)}
    for library in KERNELS:
        left = [e for e in elements if e.id() not in local]
        if left:
            local.update(_meshed(file, left, factor, library))
    have = sorted((e for e in elements if e.id() in local), key=lambda e: e.id())
    if not have:
        return np.zeros(0, np.int64), Ragged.of([], (9,)), np.zeros((0, 6))
    ids = np.array([e.id() for e in have], dtype=np.int64)
    triangles = Ragged.of([local[int(i)] for i in ids], (3, 3))
    placed = placer.many([e[5] for e in have])[triangles.rows]
    world = np.einsum("nij,nkj->nki", placed[:, :3, :3], triangles.values) + placed[:, None, :3, 3]
    starts = triangles.offsets[:-1]
    low, high = np.minimum.reduceat(world.min(axis=1), starts), np.maximum.reduceat(world.max(axis=1), starts)
    return ids, Ragged(world.reshape(-1, 9), triangles.offsets), np.hstack([low, high])


def _meshed(file: Any, elements: Sequence[Any], factor: float, library: str) -> dict[int, Floats]:
    """Triangles (k, 3, 3) in each element's own frame, mm."""
    settings = ifcopenshell.geom.settings()
    for name, value in (("use-world-coords", False), ("convert-back-units", True), ("apply-default-materials", False),
                        ("disable-opening-subtractions", True)):
        settings.set(name, value)
    found: dict[int, Floats] = {}
    try:
        iterator = ifcopenshell.geom.iterator(settings, file, 1, include=list(elements), geometry_library=library)
        more = iterator.initialize()
    except RuntimeError:
        return found
    while more:
        shape = iterator.get()
        index = np.array(shape.geometry.faces, dtype=np.int64).reshape(-1, 3)
        if len(index):
            found[shape.id] = np.array(shape.geometry.verts, dtype=float).reshape(-1, 3)[index] * factor
        more = iterator.next()
    return found
