"""Upright boxes as an IFC file in memory, and what ifcopenshell's tree answers about them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import ifcopenshell
import ifcopenshell.geom
import ifcopenshell.guid

Box = tuple[Sequence[float], Sequence[float]]  # least and greatest corner, mm


def model_of(boxes: Iterable[tuple[str, Box]]) -> tuple[Any, list[Any]]:
    """An IFC4 file in metres with an element a box, in order; the class is the text beside it."""
    f = ifcopenshell.file(schema="IFC4")

    def placement(at: Sequence[float]) -> Any:
        return f.createIfcAxis2Placement3D(f.createIfcCartesianPoint([float(v) for v in at]))

    context = f.createIfcGeometricRepresentationContext(None, "Model", 3, 1e-6, placement((0, 0, 0)))
    unit = f.createIfcSIUnit(None, "LENGTHUNIT", None, "METRE")
    f.createIfcProject(ifcopenshell.guid.new(), RepresentationContexts=[context], UnitsInContext=f.createIfcUnitAssignment([unit]))
    up = f.createIfcDirection((0.0, 0.0, 1.0))
    made = []
    for ifc_class, (low, high) in boxes:
        x, y, z = ((b - a) / 1000 for a, b in zip(low, high, strict=True))
        middle = f.createIfcAxis2Placement2D(f.createIfcCartesianPoint((x / 2, y / 2)))
        body = f.createIfcExtrudedAreaSolid(f.createIfcRectangleProfileDef("AREA", None, middle, x, y), placement((0, 0, 0)), up, z)
        shape = f.createIfcProductDefinitionShape(None, None, [f.createIfcShapeRepresentation(context, "Body", "SweptSolid", [body])])
        at = f.createIfcLocalPlacement(None, placement([v / 1000 for v in low]))
        made.append(f.create_entity(ifc_class, GlobalId=ifcopenshell.guid.new(), ObjectPlacement=at, Representation=shape))
    return f, made


def tree_of(model: Any) -> Any:
    """The tree over triangles of all elements (hybrid kernel)."""
    tree = ifcopenshell.geom.tree(backend="opencascade.trianglebvh")
    tree.add_iterator(ifcopenshell.geom.iterator(ifcopenshell.geom.settings(), model, num_threads=1))
    return tree


def intersecting(tree: Any, a: list[Any], b: list[Any], tolerance: float = 0.002) -> set[frozenset[str]]:
    """Pairs whose penetration exceeds the tolerance (m) by the tree's own measure."""
    found = tree.clash_intersection_many(a, b, tolerance=tolerance, check_all=True)
    return {frozenset((c.a.get_argument(0), c.b.get_argument(0))) for c in found}


def clearances(tree: Any, a: list[Any], b: list[Any], within: float = 0.01) -> list[float]:
    """Distances (mm) of pairs nearer than `within` (m)."""
    return [round(1e3 * c.distance, 3) for c in tree.clash_clearance_many(a, b, clearance=within, check_all=True)]


def colliding(tree: Any, a: list[Any], b: list[Any], allow_touching: bool = False) -> set[frozenset[str]]:
    found = tree.clash_collision_many(a, b, allow_touching=allow_touching)
    return {frozenset((c.a.get_argument(0), c.b.get_argument(0))) for c in found}
