"""Ends of grid axes, in the ways that files write straight lines.  Expected: the coordinates that the test writes."""

from __future__ import annotations

from typing import Any

import ifcopenshell
import pytest

from bimcheck.read.axes import ends_of

FROM, TO = (1.0, 2.0), (1.0, 9.0)


def curves(file: ifcopenshell.file) -> dict[str, Any]:
    a, b, c = (file.create_entity("IfcCartesianPoint", Coordinates=p) for p in (FROM, TO, (5.0, 5.0)))
    along = file.create_entity("IfcVector", Orientation=file.create_entity("IfcDirection", DirectionRatios=(0.0, 1.0)), Magnitude=1.0)
    line = file.create_entity("IfcLine", Pnt=a, Dir=along)
    length = [file.createIfcParameterValue(v) for v in (0.0, 7.0)]
    circle = file.create_entity("IfcCircle", Position=file.create_entity("IfcAxis2Placement2D", Location=c), Radius=3.0)
    listed = file.create_entity("IfcCartesianPointList2D", CoordList=(FROM, TO))
    return {
        "polyline": file.create_entity("IfcPolyline", Points=(a, b)),
        "indexed": file.create_entity("IfcIndexedPolyCurve", Points=listed),
        "cut line": file.create_entity("IfcTrimmedCurve", BasisCurve=line, Trim1=(a,), Trim2=(length[1], b), SenseAgreement=True, MasterRepresentation="CARTESIAN"),
        "cut by parameters": file.create_entity("IfcTrimmedCurve", BasisCurve=line, Trim1=(length[0],), Trim2=(length[1],), SenseAgreement=True,
                                                MasterRepresentation="PARAMETER"),
        "arc": file.create_entity("IfcTrimmedCurve", BasisCurve=circle, Trim1=(a,), Trim2=(b,), SenseAgreement=True, MasterRepresentation="CARTESIAN"),
        "none": None,
    }


@pytest.mark.parametrize(("kind", "straight"), [("polyline", True), ("indexed", True), ("cut line", True), ("cut by parameters", True), ("arc", False),
                                                ("none", False)])
def test_ends_of_an_axis(kind: str, straight: bool) -> None:
    assert [tuple(p) for p in ends_of(curves(ifcopenshell.file(schema="IFC4"))[kind])] == ([FROM, TO] if straight else [])
