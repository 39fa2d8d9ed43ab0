"""Faceted breps and tessellations read face by face."""

from __future__ import annotations

from typing import Any

import numpy as np

from bimcheck.read.bodies import Shell
from bimcheck.read.geometry.raw import get, kind


class Shells:
    """Reads faces; the triangles of bodies that differ in size alone are the same numbers and kept once."""

    def __init__(self, factor: float) -> None:
        self.factor = factor
        self._loops: dict[Any, tuple[list[Any], list[int]]] = {}

    def read(self, item: Any) -> Shell | None:
        """The item's faces, mm; None where it is none of the common kinds or needs a closer look."""
        name = kind(item)
        if name == "IfcFacetedBrep":
            return _brep(item, self.factor)
        if name == "IfcTriangulatedFaceSet" and not (len(item) > 4 and get(item, 4)):
            return Shell(np.array(get(get(item, 0), 0), dtype=float) * self.factor, *self._triangles(get(item, 3)))
        return None

    def _triangles(self, corners: Any) -> tuple[list[Any], list[int]]:
        found = self._loops.get(corners)
        if found is None:
            index = np.array(corners, dtype=np.int64) - 1
            found = self._loops[corners] = list(index), list(range(len(index)))
        return found


def _brep(item: Any, factor: float) -> Shell | None:
    number: dict[int, int] = {}
    points: list[tuple[float, ...]] = []
    loops: list[list[int]] = []
    face_of: list[int] = []
    for count, face in enumerate(get(get(item, 0), 0)):
        for bound in get(face, 0):
            loop = get(bound, 0)
            if kind(loop) != "IfcPolyLoop" or kind(face) != "IfcFace":
                return None
            ring = []
            for point in get(loop, 0):
                key = point.id()
                at = number.get(key)
                if at is None:
                    at = number[key] = len(points)
                    points.append(get(point, 0))
                ring.append(at)
            loops.append(ring if get(bound, 1) else ring[::-1])
            face_of.append(count)
    return Shell(np.array(points, dtype=float).reshape(-1, 3) * factor, loops, face_of)
