"""What an element is: a panel, or why not.  First by what its file says, then by its body."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.candidates import Candidate
from bimcheck.read.settings import Reading
from bimcheck.read.suitability import Explicit, kind_of, out_of_scope
from bimcheck.read.lexicon import NAME, plain

# class (its beginning): what it is instead of a panel
CLASSES = (
    ("IfcMechanicalFastener", "fastener"), ("IfcFastener", "fastener"), ("IfcDiscreteAccessory", "accessory"),
    ("IfcReinforc", "reinforcement"), ("IfcTendon", "reinforcement"), ("IfcMember", "member"), ("IfcBeam", "beam"),
    ("IfcColumn", "column"), ("IfcSlab", "slab"), ("IfcRoof", "roof"), ("IfcWall", "wall"), ("IfcWindow", "window"),
    ("IfcDoor", "door"), ("IfcRail", "railing"), ("IfcStair", "stair"), ("IfcRamp", "ramp"), ("IfcFooting", "footing"),
    ("IfcPile", "pile"), ("IfcShading", "shading device"), ("IfcFurni", "furniture"), ("IfcSystemFurniture", "furniture"),
    ("IfcFlow", "service"), ("IfcDistribution", "service"), ("IfcTransport", "transport"), ("IfcChimney", "chimney"),
)
PANEL_CLASSES = ("IfcPlate", "IfcCovering", "IfcBuildingElementPart", "IfcBuildingElementProxy", "IfcElementAssembly",
                 "IfcBuiltElement", "IfcBuildingElement")
# predefined types that are no facade panel
PREDEFINED = {
    "IfcCovering": {"CEILING": "ceiling", "FLOORING": "floor covering", "INSULATION": "insulation", "MEMBRANE": "membrane",
                    "ROOFING": "roof covering", "SLEEVING": "sleeve", "WRAPPING": "wrapping", "MOLDING": "moulding",
                    "SKIRTINGBOARD": "skirting board", "COPING": "coping", "TOPPING": "topping"},
    "IfcPlate": {k: "steel connection plate" for k in (
        "FLANGE_PLATE", "WEB_PLATE", "STIFFENER_PLATE", "GUSSET_PLATE", "COVER_PLATE", "SPLICE_PLATE", "BASE_PLATE")},
    "IfcBuildingElementPart": {"INSULATION": "insulation", "ARMORUNIT": "armour unit", "SAFETYCAGE": "safety cage"},
    "IfcBuildingElementProxy": {"PROVISIONFORVOID": "provision for void", "PROVISIONFORSPACE": "provision for space"},
}
SURE = {"IfcPlate": (), "IfcCovering": ("CLADDING",), "IfcBuildingElementPart": ("PRECASTPANEL",)}
WHOLES = {"IfcRailing": "part of a railing", "IfcStair": "part of a stair", "IfcStairFlight": "part of a stair",
          "IfcRamp": "part of a ramp", "IfcRoof": "part of a roof", "IfcDoor": "part of a door", "IfcWindow": "part of a window",
          "IfcFurniture": "part of furniture", "IfcFurnishingElement": "part of furniture"}
# name kinds that hold even where the name also says panel; the others give way to it
FIRM = ("fastener", "bracket", "rail", "ceiling", "floor")
LOOSE = ("mullion", "stud", "flashing", "equipment", "marker", "structure", "opening")
LAYERS = {"insulation": "insulation", "membrane": "membrane", "lining": "lining"}
STEEL = frozenset({"IfcBeam", "IfcBeamStandardCase", "IfcColumn", "IfcColumnStandardCase"})
_GLAZED = re.compile(r"(?<!\w)(?:glazed|glazing|vitrage|acristalad\w*|vetrat\w|verglas\w*|envidra\w*)(?!\w)")


def is_sure(c: Candidate) -> bool:
    """Whether class and predefined type alone say that it is a plate or a cladding."""
    for cls, predefined in SURE.items():
        if c.cls.startswith(cls):
            return not predefined or c.predefined in predefined
    return False


def by_statement(c: Candidate, explicit: Explicit, containers: frozenset[str]) -> str:
    """Reason why it is out of scope by class, predefined type, place, name or material; blank where it may be a panel.

    containers: classes whose elements with parts are only their whole.
    """
    return (_by_class(c, containers) or WHOLES.get(c.above.removesuffix("StandardCase"), "") and
            f"not-a-panel:{WHOLES[c.above.removesuffix('StandardCase')]}" or _by_name(c) or _by_material(c, explicit) or _by_place(c))


def _by_class(c: Candidate, containers: frozenset[str]) -> str:
    if c.cls == "IfcCurtainWall":
        return "not-a-panel:container" if c.parts else "not-a-panel:undivided curtain wall" if c.body \
            else "not-a-panel:curtain wall without parts"
    if c.parts and (not c.body or c.cls in containers):
        return "not-a-panel:container"
    for beginning, what in CLASSES:
        if c.cls.startswith(beginning):
            return f"not-a-panel:{'mullion' if c.predefined == 'MULLION' else what}"
    if not c.cls.startswith(PANEL_CLASSES):
        return f"not-a-panel:{c.cls}"
    for cls, kinds in PREDEFINED.items():
        if c.cls.startswith(cls) and c.predefined in kinds:
            return f"not-a-panel:{kinds[c.predefined]}"
    return ""


def _by_name(c: Candidate) -> str:
    """Names count only where the class leaves open what it is."""
    if is_sure(c):
        return ""
    text = plain(f"{c.name} | {c.type_name} | {c.object_type}")
    kinds = FIRM if NAME["panel"].search(text) else FIRM + LOOSE
    for kind in kinds:
        if NAME[kind].search(text):
            return f"not-a-panel:{kind}"
    said = kind_of(f"{c.name} {c.object_type}").name
    return f"not-a-panel:{LAYERS[said]}" if said in LAYERS else ""


def _by_material(c: Candidate, explicit: Explicit) -> str:
    if c.material:
        reason = out_of_scope(c.material, explicit)
        if reason == "material:metal" and c.beside & STEEL:
            return "not-a-panel:steel connection plate"
        return reason
    if c.beside & STEEL and c.cls.startswith("IfcPlate"):
        return "not-a-panel:steel connection plate"
    return "material:glass" if _GLAZED.search(plain(f"{c.type_name} {c.name}")) else ""


def _by_place(c: Candidate) -> str:
    return "not-a-panel:inside a room" if c.within == "IfcSpace" else ""


def by_body(sure: NDArray[np.bool_], size: NDArray[Any], thickness: NDArray[Any], form: NDArray[Any], level: NDArray[np.bool_],
            open_covering: NDArray[np.bool_], settings: Reading) -> NDArray[Any]:
    """Reasons by the body, blank where it may be a panel.

    sure: class says plate or cladding.  size: (n, 2) short and long side of the face, mm.  level: the face lies level.
    open_covering: a covering whose predefined type is left open.
    """
    short, long = size[:, 0], size[:, 1]
    loose = ~sure
    said = [
        (form == "solid", "not-a-panel:not a plate-like body"),
        (long > settings.largest_side_mm, "not-a-panel:longer than a single panel"),
        (loose & (thickness > settings.largest_thickness_mm), "not-a-panel:thicker than a panel"),
        (loose & (short < settings.least_side_mm), "not-a-panel:strip or profile"),
        (loose & (short < settings.slenderness * thickness), "not-a-panel:not a plate-like body"),
        (open_covering & level, "not-a-panel:horizontal covering"),
    ]
    return np.select([m for m, _ in said], [np.array(t, dtype=object) for _, t in said], default="").astype(object)
