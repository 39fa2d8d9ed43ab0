"""A model with the author's own fasteners: pins drawn at given places of the panels of another model (tests only)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.guid
import numpy as np

DEEP, PROUD = 8.0, 20.0  # mm inside and behind the rear face


def with_pins(source: Path, target: Path, pins: Iterable[tuple[Sequence[float], Sequence[float], str]], *, unit_mm: float = 1000.0,
              radius: float = 4.0, deep: float = DEEP) -> Path:
    """Write `source` with a pin at each (place in m, outward normal, IFC class); unit_mm: length of the model's unit."""
    file = ifcopenshell.open(str(source))
    context = next(c for c in file.by_type("IfcGeometricRepresentationContext") if c.ContextType == "Model")
    storey = file.by_type("IfcBuildingStorey")[0]
    made = [_pin(file, context, place, normal, name, unit_mm, radius, deep) for place, normal, name in pins]
    history = file.by_type("IfcOwnerHistory")
    file.create_entity("IfcRelContainedInSpatialStructure", ifcopenshell.guid.new(), history[0] if history else None, None, None, made, storey)
    file.write(str(target))
    return target


def _pin(file: Any, context: Any, place: Sequence[float], normal: Sequence[float], name: str, unit_mm: float, radius: float, deep: float) -> Any:
    n = np.asarray(normal, dtype=float)
    start = np.asarray(place) * 1000 - PROUD * n
    across = np.cross(n, [0, 0, 1.0]) if abs(n[2]) < 0.9 else np.array([1.0, 0, 0])
    axis = file.create_entity("IfcAxis2Placement3D", _point(file, start / unit_mm), _direction(file, n), _direction(file, across))
    circle = file.create_entity("IfcCircleProfileDef", "AREA", None, file.create_entity("IfcAxis2Placement2D", _point(file, (0.0, 0.0))), radius / unit_mm)
    solid = file.create_entity("IfcExtrudedAreaSolid", circle, None, _direction(file, (0.0, 0.0, 1.0)), (PROUD + deep) / unit_mm)
    shape = file.create_entity("IfcShapeRepresentation", context, "Body", "SweptSolid", [solid])
    history = file.by_type("IfcOwnerHistory")
    return file.create_entity(name, GlobalId=ifcopenshell.guid.new(), OwnerHistory=history[0] if history else None, Name="pin of the author's",
                              ObjectPlacement=file.create_entity("IfcLocalPlacement", None, axis),
                              Representation=file.create_entity("IfcProductDefinitionShape", None, None, [shape]))


def _point(file: Any, at: Iterable[float]) -> Any:
    return file.create_entity("IfcCartesianPoint", [float(c) for c in at])


def _direction(file: Any, along: Iterable[float]) -> Any:
    return file.create_entity("IfcDirection", [float(c) for c in along])
