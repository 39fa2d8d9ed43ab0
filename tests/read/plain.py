"""Small models written as text, so that a test states every attribute it is about."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.guid

SI = {"mm": "IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.)", "cm": "IFCSIUNIT(*,.LENGTHUNIT.,.CENTI.,.METRE.)", "m": "IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.)"}


class Plain:
    """An IFC4 model of plates 1000 x 600 x 30 (file units) in a row, each of its own class and material."""

    def __init__(self, unit: str | None = "mm", schema: str = "IFC4") -> None:
        self.lines: list[str] = []
        self.schema = schema
        self.zero = self.add("IFCCARTESIANPOINT((0.,0.,0.))")
        self.axes = self.add(f"IFCAXIS2PLACEMENT3D({self.zero},$,$)")
        self.context = self.add(f"IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-5,{self.axes},$)")
        units = "$" if unit is None else self.add(f"IFCUNITASSIGNMENT(({self.add(SI.get(unit, unit))}))")
        self.project = self.add(f"IFCPROJECT('{self.guid()}',$,'Invented',$,$,$,$,({self.context}),{units})")
        self.count = 0

    def guid(self) -> str:
        return f"{len(self.lines):022d}"

    def add(self, text: str) -> str:
        self.lines.append(text)
        return f"#{len(self.lines)}"

    def body(self, sides: tuple[float, float, float]) -> str:
        """A block standing along x: sides = length, depth, height."""
        length, depth, height = sides
        middle = self.add("IFCCARTESIANPOINT((0.,0.))")
        at = self.add(f"IFCAXIS2PLACEMENT2D({middle},$)")
        profile = self.add(f"IFCRECTANGLEPROFILEDEF(.AREA.,$,{at},{length},{depth})")
        up = self.add("IFCDIRECTION((0.,0.,1.))")
        solid = self.add(f"IFCEXTRUDEDAREASOLID({profile},{self.axes},{up},{height})")
        shape = self.add(f"IFCSHAPEREPRESENTATION({self.context},'Body','SweptSolid',({solid}))")
        return self.add(f"IFCPRODUCTDEFINITIONSHAPE($,$,({shape}))")

    def element(self, cls: str = "IFCPLATE", name: str = "P", material: str = "", tail: str = ",$", sides: Any = (1000.0, 30.0, 600.0),
                guid: str = "") -> str:
        """tail: attributes behind Tag; sides None: without a body."""
        self.count += 1
        point = self.add(f"IFCCARTESIANPOINT(({1010.0 * self.count},0.,0.))")
        axes = self.add(f"IFCAXIS2PLACEMENT3D({point},$,$)")
        placement = self.add(f"IFCLOCALPLACEMENT($,{axes})")
        shape = self.body(sides) if sides is not None else "$"
        made = self.add(f"{cls}('{guid or self.guid()}',$,'{name}',$,$,{placement},{shape},'T{self.count}'{tail})")
        if material:
            quoted = material.replace("'", "''")
            named = self.add(f"IFCMATERIAL('{quoted}',$,$)")
            self.add(f"IFCRELASSOCIATESMATERIAL('{self.guid()}',$,$,$,({made}),{named})")
        return made

    def whole(self, whole: str, parts: Sequence[str]) -> None:
        self.add(f"IFCRELAGGREGATES('{self.guid()}',$,$,$,{whole},({','.join(parts)}))")

    def text(self) -> str:
        data = "".join(f"#{i}={line};\n" for i, line in enumerate(self.lines, 1))
        return (f"ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\n"
                f"FILE_SCHEMA(('{self.schema}'));\nENDSEC;\nDATA;\n{data}ENDSEC;\nEND-ISO-10303-21;\n")

    def file(self) -> Any:
        return ifcopenshell.file.from_string(self.text())

    def write(self, path: Path) -> Path:
        path.write_text(self.text(), encoding="utf-8")
        return path
