"""Bodies by the geometry kernel: what is not read directly, with openings cut out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import ifcopenshell.geom
import numpy as np

from bimcheck.read.bodies import Shell

# The exact kernel first: the fast one returns half-space clippings uncut, without a word.  It only gets what is left.
KERNELS = ("opencascade", "hybrid-manifold-opencascade")


def shells(file: Any, factor: float, elements: Sequence[Any], openings: bool = True) -> dict[int, Shell]:
    """Shells by entity number, in each element's own frame, mm; what no kernel can mesh is missing.

    factor: mm of the file's length unit.
    """
    found: dict[int, Shell] = {}
    for kernel in KERNELS:
        left = [e for e in elements if e.id() not in found]
        if left:
            found.update(_run(file, factor, left, kernel, openings))
    return found


def _run(file: Any, factor: float, elements: Sequence[Any], kernel: str, openings: bool) -> Iterator[tuple[int, Shell]]:
    try:
        iterator = ifcopenshell.geom.iterator(_settings(openings), file, 1, include=list(elements), geometry_library=kernel)
        more = iterator.initialize()
    except RuntimeError:
        return
    while more:
        shape = iterator.get()
        points = np.array(shape.geometry.verts, dtype=float).reshape(-1, 3) * factor
        index = np.array(shape.geometry.faces, dtype=np.int64).reshape(-1, 3)
        if len(index):
            yield shape.id, Shell(points, list(index), list(range(len(index))))
        more = iterator.next()


def _settings(openings: bool) -> Any:
    settings = ifcopenshell.geom.settings()
    for name, value in (("use-world-coords", False), ("weld-vertices", True), ("convert-back-units", True), ("disable-opening-subtractions", not openings),
                        ("mesher-linear-deflection", 0.0001), ("circle-segments", 96), ("apply-default-materials", False)):
        settings.set(name, value)
    return settings
