"""Representation items as plain data: prisms and shells; what is neither is left to the geometry kernel."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.place import Placer, X, Z
from bimcheck.read.profiles import Unread, rings_of

Floats = NDArray[Any]  # of float64
SOLID_TYPES = {"SweptSolid", "AdvancedSweptSolid", "Brep", "AdvancedBrep", "SolidModel", "Tessellation", "SurfaceModel", "Surface3D",
               "Clipping", "CSG", "MappedRepresentation", "GeometricSet", "SectionedSpine"}
NAMES = ("Body", "Facetation", "Body-Fallback", "Body-FallBack", None, "")
DEEPEST = 8  # nested maps


@dataclass(frozen=True)
class Prism:
    """rings: (k, 2) each in mm; matrix: (4, 4) of the profile plane; vector: (3,) extrusion in that frame, mm."""

    rings: list[Floats]
    matrix: Floats
    vector: Floats
    arcs: bool


@dataclass(frozen=True)
class Shell:
    """points: (v, 3) mm; loops: vertex numbers of each loop; face: number of the face each loop bounds."""

    points: Floats
    loops: list[Any]
    face: list[int]


Body = Prism | Shell


def items_of(representation: Any, placer: Placer) -> Iterator[tuple[Any, Floats | None]]:
    """Items with the matrix that brings them into the element's frame (None: as they are); maps are followed."""
    yield from _items(representation, placer, None, 0)


def _items(representation: Any, placer: Placer, matrix: Floats | None, depth: int) -> Iterator[tuple[Any, Floats | None]]:
    if depth > DEEPEST:
        raise Unread("nested maps")
    for item in representation[3]:
        if item.is_a() != "IfcMappedItem":
            yield item, matrix
            continue
        source = item[0]
        own = operator(item[1], placer) @ np.linalg.inv(placer.matrix(source[0]))
        yield from _items(source[1], placer, own if matrix is None else matrix @ own, depth + 1)


def operator(target: Any, placer: Placer) -> Floats:
    """(4, 4) of an IfcCartesianTransformationOperator3D, mm; axes may mirror, scales may differ."""
    if not target.is_a("IfcCartesianTransformationOperator3D"):
        raise Unread(target.is_a())
    scale = float(target[3] or 1.0)
    uneven = target.is_a("IfcCartesianTransformationOperator3DnonUniform")
    scales = [scale, float(target[5] or scale), float(target[6] or scale)] if uneven else [scale] * 3
    given = (target[0][0] if target[0] else X, target[1][0] if target[1] else (0.0, 0.0, 0.0), target[4][0] if target[4] else Z, target[2][0], scales)
    x, y, z, origin, scaled = (np.array([v], dtype=float) for v in given)
    return operators(x, y, z, origin * placer.factor, scaled)[0]


def operators(x: Floats, y: Floats, z: Floats, origin: Floats, scales: Floats) -> Floats:
    """(n, 4, 4) from axes 1, 2 (0: not stated) and 3, origin in mm and scales, (n, 3) each."""
    z = _unit(z)
    square = x - np.sum(x * z, axis=1, keepdims=True) * z
    along = np.linalg.norm(np.cross(x, z), axis=1, keepdims=True) <= 1e-9
    x = _unit(np.where(along, np.cross([0.0, 1.0, 0.0], z), square))
    third = np.cross(z, x)
    third = np.where(np.sum(y * third, axis=1, keepdims=True) < 0, -third, third)
    out = np.zeros((len(x), 4, 4))
    out[:, :3, :3] = np.stack([x, third, z], axis=2) * scales[:, None]
    out[:, :3, 3], out[:, 3, 3] = origin, 1.0
    return out


def _unit(v: Floats) -> Floats:
    length = np.linalg.norm(v, axis=1, keepdims=True)
    return v / np.where(length > 0, length, 1.0)


def read_item(item: Any, placer: Placer) -> Body:
    """The item as data; raises Unread where only the kernel can say."""
    reader = READERS.get(item.is_a())
    if reader is None:
        raise Unread(item.is_a())
    return reader(item, placer)


def _extrusion(item: Any, placer: Placer) -> Prism:
    rings, arcs = rings_of(item[0], placer)
    matrix = placer.matrix(item[1]) if item[1] is not None else np.eye(4)
    direction = np.array(placer.directions.of(item[2], Z), dtype=float)
    return Prism(rings, matrix, direction / (np.linalg.norm(direction) or 1.0) * (item[3] * placer.factor), arcs)


def _brep(item: Any, placer: Placer) -> Shell:
    return _faces([item[0]], placer)


def _brep_with_voids(item: Any, placer: Placer) -> Shell:
    return _faces([item[0], *item[1]], placer)


def _surfaces(item: Any, placer: Placer) -> Shell:
    return _faces(item[0], placer)


def _faces(shells: Any, placer: Placer) -> Shell:
    points: list[tuple[float, ...]] = []
    number: dict[int, int] = {}
    loops: list[list[int]] = []
    face_of: list[int] = []
    count = 0
    for shell in shells:
        for face in shell.get_argument(0):
            for bound in face.get_argument(0):
                loop = bound.get_argument(0)
                if loop.is_a() != "IfcPolyLoop":
                    raise Unread(loop.is_a())
                ring = []
                for point in loop.get_argument(0):
                    key = point.id()
                    at = number.get(key)
                    if at is None:
                        at = number[key] = len(points)
                        points.append(point.get_argument(0))
                    ring.append(at)
                loops.append(ring if bound.get_argument(1) else ring[::-1])
                face_of.append(count)
            count += 1
    return Shell(np.array(points, dtype=float).reshape(-1, 3) * placer.factor, loops, face_of)


def _triangles(item: Any, placer: Placer) -> Shell:
    points = np.array(item[0][0], dtype=float) * placer.factor
    index = np.array(item[3], dtype=np.int64)
    turned = item[4] if len(item) > 4 else None
    index = (np.array(turned)[index - 1] if turned else index) - 1
    return Shell(points, list(index), list(range(len(index))))


def _polygons(item: Any, placer: Placer) -> Shell:
    points = np.array(item[0][0], dtype=float) * placer.factor
    turned = item[3]
    loops, face = [], []
    for number, polygon in enumerate(item[2]):
        rings = [polygon[0], *(polygon[1] if polygon.is_a() == "IfcIndexedPolygonalFaceWithVoids" else ())]
        for ring in rings:
            index = np.array(ring) - 1
            loops.append(np.array(turned)[index] - 1 if turned else index)
            face.append(number)
    return Shell(points, loops, face)


READERS = {
    "IfcExtrudedAreaSolid": _extrusion, "IfcFacetedBrep": _brep, "IfcFacetedBrepWithVoids": _brep_with_voids,
    "IfcFaceBasedSurfaceModel": _surfaces, "IfcShellBasedSurfaceModel": _surfaces,
    "IfcTriangulatedFaceSet": _triangles, "IfcPolygonalFaceSet": _polygons,
}
