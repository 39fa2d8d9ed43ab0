"""What part a body that is no panel plays behind or beside the panels."""

from __future__ import annotations

from collections.abc import Container

from bimcheck.read import words
from bimcheck.read.materials import Names, layer_kind

# First match in the class hierarchy decides; "" = not looked at.
CLASSES = (
    ("IfcMember", "member"), ("IfcBeam", "member"), ("IfcColumn", "member"), ("IfcPile", ""), ("IfcSlab", "slab"), ("IfcRoof", "slab"),
    ("IfcFooting", "slab"), ("IfcRamp", "slab"), ("IfcRampFlight", "slab"), ("IfcStair", "slab"), ("IfcStairFlight", "slab"), ("IfcWall", "wall"),
    ("IfcWindow", "frame"), ("IfcDoor", "frame"), ("IfcRailing", "member"), ("IfcShadingDevice", "service"), ("IfcChimney", "wall"),
    ("IfcMechanicalFastener", "fastener"), ("IfcFastener", "fastener"), ("IfcReinforcingElement", ""), ("IfcDiscreteAccessory", "bracket"),
    ("IfcElementComponent", "bracket"), ("IfcDistributionElement", "service"), ("IfcElectricalElement", "service"), ("IfcEquipmentElement", "service"),
    ("IfcFurnishingElement", ""), ("IfcTransportElement", ""), ("IfcGeographicElement", ""), ("IfcCivilElement", ""),
    ("IfcCovering", "ignored"), ("IfcPlate", "bracket"), ("IfcBuildingElement", "member"), ("IfcBuiltElement", "member"),
)
# Reasons of elements that are no panels, by the word behind "not-a-panel: ".
REASONS = {
    "stud": "member", "mullion": "member", "member": "member", "rail": "rail", "bracket": "bracket", "component": "bracket", "metal connection plate": "bracket",
    "fastener": "fastener", "frame": "frame", "window": "frame", "door": "frame", "flashing": "member", "insulation": "ignored",
    "membrane": "ignored", "lining": "ignored", "service": "service", "ceiling": "ignored", "flooring": "ignored", "roofing": "ignored",
    "slab": "slab", "wall": "wall", "beam": "member", "column": "member", "roof": "slab", "stair": "slab", "railing": "member", "footing": "slab",
    "marker": "", "furniture": "", "assembled of parts": "", "excluded in the project file": "", "reinforcement": "", "undivided curtain wall": "frame",
}
NAMED = (("bracket", "bracket"), ("rail", "rail"), ("fastener", "fastener"))


def role_of_reason(reason: str, texts: str) -> str:
    """Role of a considered element that is no panel; "" for those that are no bodies behind panels."""
    kind, _, rest = reason.partition(": ")
    if kind != "not-a-panel":
        return ""
    word = rest.split(" (")[0].split(",")[0]
    if word == "structure":
        return structure_role(texts)
    return _named(REASONS.get(word, "member"), texts)


def structure_role(texts: str) -> str:
    """Walls, slabs and columns that are told by their name only."""
    if words.has(texts, ("wall", "walls", "wand", "mur", "muro", "parete", "pared")):
        return "wall"
    return "member" if words.has(texts, ("column*", "stutze*", "beam*", "trager*")) else "slab"


def class_role(classes: Container[str]) -> str:
    """Role by the class, and its superclasses, of an element that was not considered; "" = not looked at."""
    return next((role for name, role in CLASSES if name in classes), "")


def role_of(kind: str, texts: str, names: Names) -> str:
    """Role by class role, name and material."""
    if kind not in ("wall", "slab") and layer_kind(names) in ("insulation", "membrane"):
        return "ignored"
    return _named(kind, texts)


def _named(role: str, texts: str) -> str:
    """Members and brackets told apart by name: only what is called a rail is taken for one that can carry panels."""
    if role not in ("member", "bracket"):
        return role
    return next((r for kind, r in NAMED if words.has(texts, words.PART[kind])), role)
