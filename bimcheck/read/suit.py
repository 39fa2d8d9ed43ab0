"""Panel, out of scope or unreadable: decided by class, material, name, shape and the way a body lies."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from bimcheck.read import words
from bimcheck.read.found import DEGENERATE, NO_BODY, NO_PLATE, ZERO
from bimcheck.read.materials import Names, is_panel_material, layer_kind, matches, unfit
from bimcheck.read.settings import ReadSettings

PANEL, OUT, UNREADABLE = "panel", "out_of_scope", "unreadable"
# Predefined types that mean another thing than a panel (IFC4X3 enumerations).
COVERINGS = {"CEILING", "FLOORING", "ROOFING", "INSULATION", "MEMBRANE", "SLEEVING", "WRAPPING", "MOLDING", "SKIRTINGBOARD", "TOPPING", "COPING"}
PLATES = {"BASE_PLATE", "COVER_PLATE", "FLANGE_PLATE", "GUSSET_PLATE", "SPLICE_PLATE", "STIFFENER_PLATE", "WEB_PLATE"}
PARTS = {"INSULATION", "APRON", "ARMOURUNIT", "SAFETYCAGE"}
OTHER_CLASSES = {
    "IfcFastener": "fastener", "IfcMechanicalFastener": "fastener", "IfcDiscreteAccessory": "bracket", "IfcElementComponent": "component",
    "IfcMember": "member", "IfcMemberStandardCase": "member", "IfcWindow": "window", "IfcWindowStandardCase": "window", "IfcDoor": "door", "IfcDoorStandardCase": "door",
    "IfcBeam": "beam", "IfcBeamStandardCase": "beam", "IfcColumn": "column", "IfcColumnStandardCase": "column", "IfcSlab": "slab", "IfcWall": "wall", "IfcWallStandardCase": "wall",
    "IfcRoof": "roof", "IfcStair": "stair", "IfcRailing": "railing", "IfcFooting": "footing", "IfcShadingDevice": "shading",
    "IfcReinforcingBar": "reinforcement", "IfcReinforcingMesh": "reinforcement", "IfcTendon": "reinforcement", "IfcVibrationIsolator": "component",
}
OPEN_CLASSES = {"IfcPlate", "IfcPlateStandardCase", "IfcCovering", "IfcBuildingElementPart", "IfcBuildingElementProxy", "IfcElementAssembly", "IfcCurtainWall"}
# What a plate or covering must not be called; undeclared elements must not be called any part's name.
STRICT = ("stud", "mullion", "bracket", "fastener", "insulation", "membrane", "lining")
LEAST_AREA = 0.02e6  # mm2; an element that nothing calls a panel must be larger
UNNAMED_AREA = 0.1e6  # mm2; and one of which nothing is known larger still
LEVEL = 0.94  # |n_z| from which a body lies flat (20 degrees)


class Facts(NamedTuple):
    """What is known about one element.  declared: its class or its parent says facade panel.

    width, height, thickness in mm, nan without a plate; level: |z| of its normal.
    """

    ifc_class: str
    predefined: str
    texts: str
    names: Names
    state: str
    width: float
    height: float
    thickness: float
    level: float
    form: str
    has_parts: bool
    in_curtain_wall: bool = False
    included: bool = False
    excluded: bool = False
    asked_class: bool = False
    company: int = 0  # other plates in its plane


def decide(f: Facts, s: ReadSettings) -> tuple[str, str]:
    """Status and reason."""
    if f.excluded:
        return OUT, "not-a-panel: excluded in the project file"
    if f.included:
        return _by_body(f) or (PANEL, form_reason(f))
    for judge in (_by_class, _by_parts, _by_material, _by_name, _by_body, _by_shape):
        verdict = judge(f, s) if judge not in (_by_class, _by_parts, _by_body) else judge(f)  # type: ignore[call-arg]
        if verdict:
            return verdict
    return PANEL, form_reason(f)


def form_reason(f: Facts) -> str:
    return "" if f.form in ("", "flat") else f.form


def declared(f: Facts) -> bool:
    """Its class says panel: plate, cladding, or a part of a curtain wall."""
    return f.ifc_class.startswith("IfcPlate") or (f.ifc_class == "IfcCovering" and f.predefined == "CLADDING") or f.predefined == "PRECASTPANEL" \
        or (f.in_curtain_wall and f.ifc_class in OPEN_CLASSES)


def _by_class(f: Facts) -> tuple[str, str] | None:
    kind = OTHER_CLASSES.get(f.ifc_class)
    if kind and not f.asked_class:
        return OUT, f"not-a-panel: {'mullion' if f.predefined == 'MULLION' else kind}"
    if f.ifc_class not in OPEN_CLASSES and not f.asked_class:
        return OUT, f"not-a-panel: {f.ifc_class}"
    listed = COVERINGS if f.ifc_class == "IfcCovering" else PLATES if f.ifc_class.startswith("IfcPlate") else PARTS
    if f.predefined in listed:
        return OUT, f"not-a-panel: {f.predefined.lower().replace('_', ' ')}"
    return None


def _by_parts(f: Facts) -> tuple[str, str] | None:
    if f.has_parts and f.state == NO_BODY:
        return OUT, "not-a-panel: assembled of parts"
    if f.ifc_class == "IfcCurtainWall":
        return OUT, "not-a-panel: undivided curtain wall"
    return None


def _by_material(f: Facts, s: ReadSettings) -> tuple[str, str] | None:
    if f.names.main and matches(f.names.main, s.panel_materials):
        return None
    layer = layer_kind(f.names)
    if layer:
        return OUT, f"not-a-panel: {layer} ({f.names.main})"
    named = _part_name(f)
    if named and not (declared(f) and named not in STRICT):
        return OUT, f"not-a-panel: {named}"
    kind = unfit(f.names, s.recognition)
    if kind == "metal" and is_connection(f):
        return OUT, "not-a-panel: metal connection plate"
    return (OUT, f"material:{kind} ({' + '.join(f.names.every)})") if kind else None


def is_connection(f: Facts) -> bool:
    """A thick or small metal plate joins members; cladding sheet is thin and large."""
    return f.thickness >= 5.0 and min(f.width, f.height) < 20 * f.thickness and f.width * f.height < 0.5e6


def _by_name(f: Facts, s: ReadSettings) -> tuple[str, str] | None:
    named = _part_name(f)
    strict = declared(f) or (bool(f.names.main) and matches(f.names.main, s.panel_materials))
    return (OUT, f"not-a-panel: {named}") if named and (named in STRICT or not strict) else None


def _part_name(f: Facts) -> str:
    """What part of a facade the element is called, "" if none."""
    return part_name(f.texts, declared(f))


@lru_cache(maxsize=1 << 14)
def part_name(texts: str, is_panel: bool) -> str:
    """By its names; a facade word outweighs words of place, and so does a class that says panel."""
    facade = words.has(texts, words.FACADE)
    for kind, listed in words.PART.items():
        if facade and (kind in ("structure", "marker", "furniture") or is_panel):
            continue
        if words.has(texts, listed):
            return kind
    return ""


def _by_body(f: Facts) -> tuple[str, str] | None:
    return (UNREADABLE, f.state) if f.state in (NO_BODY, ZERO, DEGENERATE) else None


def _by_shape(f: Facts, s: ReadSettings) -> tuple[str, str] | None:
    r, short, long = s.reading, min(f.width, f.height), max(f.width, f.height)
    if f.state == NO_PLATE:
        return OUT, "not-a-panel: no plate by its shape"
    if long > r.largest_side_mm:
        return OUT, f"not-a-panel: undivided, {long / 1000:.1f} m long"
    if short < (f.thickness if declared(f) else max(r.least_side_mm, r.slenderness * f.thickness)):
        return OUT, "not-a-panel: strip or block by its shape"
    return None if declared(f) else _undeclared(f, s)


def _undeclared(f: Facts, s: ReadSettings) -> tuple[str, str] | None:
    """Proxies and parts: nothing but name, material and body tells what they are."""
    area = f.width * f.height
    known = is_panel_material(f.names, s.recognition) or matches(f.names.main, s.panel_materials) or words.has(f.texts, words.FACADE)
    if f.thickness > s.reading.largest_thickness_mm:
        return OUT, f"not-a-panel: {f.thickness:.0f} mm thick"
    if area < LEAST_AREA or (not known and area < UNNAMED_AREA):
        return OUT, "not-a-panel: too small for a panel that nothing calls one"
    if not known and f.level > LEVEL:
        return OUT, "not-a-panel: lies flat, and nothing calls it a panel"
    if not known and f.company == 0:
        return OUT, "not-a-panel: stands alone, and nothing calls it a panel"
    return None
