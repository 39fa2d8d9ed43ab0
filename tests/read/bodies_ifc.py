"""Small files with plates of any kind of body, written entity by entity; read as plates."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.guid

from bimcheck.read.attributes import listed
from bimcheck.read.elements import bodies_of
from bimcheck.read.found import Found
from bimcheck.read.links import read_links
from bimcheck.read.model import Opened, open_models
from bimcheck.read.place import Placer
from bimcheck.read.settings import ReadSettings
from bimcheck.read.source import source_of

Points = Sequence[Sequence[float]]


def plates(file: Any, numbers: Sequence[int], settings: ReadSettings | None = None) -> Found:
    """Plates of the elements in world coordinates, mm, in the order of `numbers`."""
    settings = settings or ReadSettings()
    return plates_of(open_models([file if not isinstance(file, str) else Path(file)], settings)[0], numbers, settings)


def plates_of(opened: Opened, numbers: Sequence[int], settings: ReadSettings) -> Found:
    source = source_of(opened)
    placer, elements = Placer(opened.factor), listed(source, source.step.rows(numbers))
    return bodies_of(placer, read_links(source), elements, placer.many(source, elements.placement), settings)


class Model:
    """A file in millimetres; `element(items)` adds a plate of these representation items and returns its number."""

    def __init__(self, prefix: str | None = "MILLI") -> None:
        self.file = ifcopenshell.file(schema="IFC4")
        self.origin = self.frame()
        self.context = self("IfcGeometricRepresentationContext", None, "Model", 3, 1e-5, self.origin, None)
        units = self("IfcUnitAssignment", [self("IfcSIUnit", None, "LENGTHUNIT", prefix, "METRE")])
        self("IfcProject", self.guid(), None, "invented", None, None, None, None, [self.context], units)

    def __call__(self, kind: str, *values: Any) -> Any:
        return self.file.create_entity(kind, *values)

    @staticmethod
    def guid() -> str:
        return ifcopenshell.guid.new()

    def point(self, *p: float) -> Any:
        return self("IfcCartesianPoint", [float(x) for x in p])

    def direction(self, *p: float) -> Any:
        return self("IfcDirection", [float(x) for x in p])

    def frame(self, at: Sequence[float] = (0, 0, 0), z: Sequence[float] = (0, 0, 1), x: Sequence[float] = (1, 0, 0)) -> Any:
        return self("IfcAxis2Placement3D", self.point(*at), self.direction(*z), self.direction(*x))

    def rectangle(self, x: float, y: float) -> Any:
        return self("IfcRectangleProfileDef", "AREA", None, self("IfcAxis2Placement2D", self.point(0, 0), None), float(x), float(y))

    def polygon(self, outer: Points, *inner: Points) -> Any:
        curves = [self("IfcPolyline", [*(points := [self.point(*p) for p in ring]), points[0]]) for ring in (outer, *inner)]
        if not inner:
            return self("IfcArbitraryClosedProfileDef", "AREA", None, curves[0])
        return self("IfcArbitraryProfileDefWithVoids", "AREA", None, curves[0], curves[1:])

    def extrusion(self, profile: Any, depth: float, position: Any = None, direction: Sequence[float] = (0, 0, 1)) -> Any:
        return self("IfcExtrudedAreaSolid", profile, position or self.frame(), self.direction(*direction), float(depth))

    def brep(self, faces: Sequence[Sequence[Points]]) -> Any:
        """Each face a list of loops, the outer one first."""
        made = []
        for loops in faces:
            kinds = ["IfcFaceOuterBound"] + ["IfcFaceBound"] * (len(loops) - 1)
            made.append(self("IfcFace", [self(k, self("IfcPolyLoop", [self.point(*p) for p in loop]), True)
                                         for k, loop in zip(kinds, loops, strict=True)]))
        return self("IfcFacetedBrep", self("IfcClosedShell", made))

    def triangles(self, points: Points, corners: Sequence[Sequence[int]]) -> Any:
        listed = self("IfcCartesianPointList3D", [[float(x) for x in p] for p in points])
        return self("IfcTriangulatedFaceSet", listed, None, None, [[i + 1 for i in c] for c in corners])

    def mapped(self, item: Any, at: Sequence[float], axes: Sequence[Sequence[float]], scales: Sequence[float] = (1.0,)) -> Any:
        inner = self("IfcShapeRepresentation", self.context, "Body", "SweptSolid", [item])
        x, y, z = (self.direction(*a) for a in axes)
        kind = "IfcCartesianTransformationOperator3D" + ("nonUniform" if len(scales) > 1 else "")
        target = self(kind, x, y, self.point(*at), scales[0], z, *scales[1:])
        return self("IfcMappedItem", self("IfcRepresentationMap", self.origin, inner), target)

    def element(self, items: Sequence[Any], place: Any = None, kind: str = "IfcPlate") -> int:
        shape = None
        if items:
            body = self("IfcShapeRepresentation", self.context, "Body", "SweptSolid", list(items))
            shape = self("IfcProductDefinitionShape", None, None, [body])
        placement = self("IfcLocalPlacement", None, place or self.frame())
        return self(kind, self.guid(), None, None, None, None, placement, shape).id()

    def opening(self, element: int, items: Sequence[Any], place: Any = None) -> None:
        number = self.element(items, place, "IfcOpeningElement")
        self("IfcRelVoidsElement", self.guid(), None, None, None, self.file.by_id(element), self.file.by_id(number))


def prism_faces(front: Points, back: Points) -> list[list[Points]]:
    """Faces, a loop each, of the body between two rings of equally many points; front runs counter-clockwise."""
    k = len(front)
    sides: list[list[Points]] = [[[front[i], back[i], back[(i + 1) % k], front[(i + 1) % k]]] for i in range(k)]
    return [[list(front)], [list(back)[::-1]], *sides]
