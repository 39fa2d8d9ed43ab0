"""Bodies in the panel's frame: x to the right seen from outside, y up, z outward, front face at z = 0."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from bimcheck.core.errors import InputError
from bimcheck.samples.building import Frame
from bimcheck.samples.step import Step, listed

Ring = Sequence[tuple[float, float]]
ARC = 16  # chords of an arc
Box = Callable[[float, float, float], str]

# Faces of a box with vertices numbered x + 2 y + 4 z, counter-clockwise seen from outside.
QUADS = ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))


def shaped(frame: Frame, kind: str, items: str) -> str:
    """The product's shape of one body."""
    body = frame.step.add(f"IFCSHAPEREPRESENTATION({frame.body},'Body','{kind}',({items}))")
    return frame.step.add(f"IFCPRODUCTDEFINITIONSHAPE($,$,({body}))")


class Solids:
    """Extrusions from the rear face outward; the positions at each depth are written once."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.depths: dict[float, str] = {}

    def at(self, depth: float) -> str:
        """Placement at z = -depth."""
        if depth not in self.depths:
            self.depths[depth] = self.frame.step.add(f"IFCAXIS2PLACEMENT3D({self.frame.step.point(0.0, 0.0, -depth)},$,$)")
        return self.depths[depth]

    def extruded(self, profile: str, thickness: float) -> str:
        step = self.frame.step
        return step.add(f"IFCEXTRUDEDAREASOLID({profile},{self.at(thickness)},{self.frame.z},{step.mm(thickness)})")

    def box(self, width: float, height: float, thickness: float) -> str:
        """A rectangle extruded to the front."""
        return shaped(self.frame, "SweptSolid", self.extruded(rectangle(self.frame.step, width, height), thickness))

    def plate(self, rings: Sequence[Ring], thickness: float) -> str:
        """An outline with cut-outs extruded to the front."""
        return shaped(self.frame, "SweptSolid", self.extruded(plate_profile(self.frame.step, rings), thickness))


def rectangle(step: Step, width: float, height: float) -> str:
    at = step.add(f"IFCAXIS2PLACEMENT2D({step.point(width / 2, height / 2)},$)")
    return step.add(f"IFCRECTANGLEPROFILEDEF(.AREA.,$,{at},{step.mm(width)},{step.mm(height)})")


def polyline(step: Step, ring: Ring) -> str:
    """A closed polyline."""
    points = [step.point(*p) for p in ring]
    return step.add(f"IFCPOLYLINE({listed([*points, points[0]])})")


def plate_profile(step: Step, rings: Sequence[Ring], circles: Sequence[tuple[float, float, float]] = ()) -> str:
    """An arbitrary profile; the first ring is the outline, the others and the circles (x, y, r) are cut out."""
    outer, *inner = (polyline(step, ring) for ring in rings)
    inner += [_circle(step, *c) for c in circles]
    if not inner:
        return step.add(f"IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,{outer})")
    return step.add(f"IFCARBITRARYPROFILEDEFWITHVOIDS(.AREA.,$,{outer},{listed(inner)})")


def _circle(step: Step, x: float, y: float, r: float) -> str:
    at = step.add(f"IFCAXIS2PLACEMENT2D({step.point(x, y)},$)")
    return step.add(f"IFCCIRCLE({at},{step.mm(r)})")


def curved(frame: Frame, width: float, height: float, thickness: float, bulge: float) -> str:
    """A plate bent about the vertical: front an arc over the chord `width` that rises by `bulge`; extruded upward."""
    step = frame.step
    radius = (width * width / 4 + bulge * bulge) / (2 * bulge)
    half = math.asin(width / 2 / radius)
    turns = [half * (2 * k / ARC - 1) for k in range(ARC + 1)]
    front, back = ([(width / 2 + r * math.sin(a), radius - bulge - r * math.cos(a)) for a in turns] for r in (radius, radius - thickness))
    outline = step.add(f"IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,{polyline(step, [*front, *reversed(back)])})")
    at = step.add(f"IFCAXIS2PLACEMENT3D({step.point(0.0, 0.0, 0.0)},{frame.y},{frame.x})")
    return step.add(f"IFCEXTRUDEDAREASOLID({outline},{at},{frame.z},{step.mm(height)})")


def corners(width: float, height: float, thickness: float) -> list[tuple[float, float, float]]:
    """Vertices of a box, numbered x + 2 y + 4 z."""
    return [(x, y, z) for z in (-thickness, 0.0) for y in (0.0, height) for x in (0.0, width)]


def brep(step: Step, width: float, height: float, thickness: float) -> str:
    """A box of six planar faces."""
    points = [step.point(*p) for p in corners(width, height, thickness)]
    faces = []
    for quad in QUADS:
        loop = step.add(f"IFCPOLYLOOP({listed([points[k] for k in quad])})")
        bound = step.add(f"IFCFACEOUTERBOUND({loop},.T.)")
        faces.append(step.add(f"IFCFACE(({bound}))"))
    return step.add(f"IFCFACETEDBREP({step.add(f'IFCCLOSEDSHELL({listed(faces)})')})")


def tessellation(step: Step, width: float, height: float, thickness: float) -> str:
    """A box of twelve triangles."""
    rows = listed([f"({step.mm(x)},{step.mm(y)},{step.mm(z)})" for x, y, z in corners(width, height, thickness)])
    points = step.add(f"IFCCARTESIANPOINTLIST3D({rows}{',$' if step.schema == 'IFC4X3' else ''})")
    triangles = listed([f"({a + 1},{b + 1},{c + 1})" for p, q, r, s in QUADS for a, b, c in ((p, q, r), (p, r, s))])
    return step.add(f"IFCTRIANGULATEDFACESET({points},$,.T.,{triangles},$)")


class Mapped:
    """Bodies shared through representation maps: one for each size."""

    def __init__(self, frame: Frame) -> None:
        self.frame, self.solids = frame, Solids(frame)
        self.maps: dict[tuple[float, float, float], str] = {}
        self.still = ""

    def box(self, width: float, height: float, thickness: float) -> str:
        step = self.frame.step
        size = (width, height, thickness)
        if size not in self.maps:
            self.maps[size] = self._map(self.solids.extruded(rectangle(step, width, height), thickness))
        item = step.add(f"IFCMAPPEDITEM({self.maps[size]},{self.still})")
        return shaped(self.frame, "MappedRepresentation", item)

    def _map(self, solid: str) -> str:
        step = self.frame.step
        if not self.still:
            self.still = step.add(f"IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,{step.point(0.0, 0.0, 0.0)},1.,$)")
        body = step.add(f"IFCSHAPEREPRESENTATION({self.frame.body},'Body','SweptSolid',({solid}))")
        return step.add(f"IFCREPRESENTATIONMAP({self.frame.upright},{body})")


def boxes(frame: Frame, body: str) -> Box:
    """The writer of boxes (width, height, thickness in mm) in the asked way; raises InputError where there is none."""
    step = frame.step
    if body == "tessellation" and step.old:
        raise InputError("IFC2X3 has no tessellation", "samples", "choose extrusion, brep or mapped")
    ways: dict[str, Callable[[], Box]] = {
        "extrusion": lambda: Solids(frame).box,
        "mapped": lambda: Mapped(frame).box,
        "brep": lambda: lambda w, h, t: shaped(frame, "Brep", brep(step, w, h, t)),
        "tessellation": lambda: lambda w, h, t: shaped(frame, "Tessellation", tessellation(step, w, h, t)),
    }
    if body not in ways:
        raise InputError(f"unknown body {body}", "samples", f"choose one of {', '.join(ways)}")
    return ways[body]()
