"""The frame every sample stands in: units, contexts, project, site, building, storeys, materials and relations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from bimcheck.core.errors import InputError
from bimcheck.samples.step import SCHEMA_NAMES, Step, chunks, listed, quoted, real

MM_PER_UNIT = {"MILLIMETRE": 1.0, "CENTIMETRE": 10.0, "METRE": 1000.0, "FOOT": 304.8, "INCH": 25.4}
PREFIX = {"MILLIMETRE": ".MILLI.", "CENTIMETRE": ".CENTI.", "METRE": "$"}
CREATED = 1704067200  # 2024-01-01, in seconds
PER_RELATION = 500  # elements named by one relation

# Class: predefined type, and whether occurrences carry it in IFC2X3 already.
CLASSES = {
    "IfcPlate": (".CURTAIN_PANEL.", False),
    "IfcCovering": (".CLADDING.", True),
    "IfcBuildingElementProxy": (".ELEMENT.", True),
    "IfcMember": (".MEMBER.", False),
    "IfcDiscreteAccessory": (".BRACKET.", False),
    "IfcSlab": (".FLOOR.", True),
    "IfcWall": (".SOLIDWALL.", False),
    "IfcOpeningElement": (".OPENING.", False),
}


@dataclass(frozen=True)
class Look:
    """How a material is stated: colour, and the thickness of its layer where it comes as a layer set."""

    colour: tuple[float, float, float]
    layer: float = 0.0


@dataclass(frozen=True)
class Storey:
    """A storey and the reference of its placement; `elements` fills while the model is written."""

    name: str
    elevation: float
    ref: str
    placement: str
    elements: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Frame:
    """References that elements are written against."""

    step: Step
    context: str
    body: str
    x: str
    y: str
    z: str
    upright: str
    storeys: list[Storey]
    materials: dict[str, list[str]] = field(default_factory=dict)
    plates: list[str] = field(default_factory=list)

    def turned(self, n: tuple[float, float], u: tuple[float, float]) -> tuple[str, str]:
        """References of the outward normal and of the horizontal of a facade."""
        return self.step.direction(*n, 0.0), self.step.direction(*u, 0.0)


def begin(space: str, name: str, about: str, levels: Sequence[tuple[str, float]], schema: str, unit: str) -> Frame:
    """A file with project, site, building and storeys.

    levels: (name, elevation in mm).  Raises InputError on an unknown schema or unit.
    """
    if schema not in SCHEMA_NAMES or unit not in MM_PER_UNIT:
        raise InputError(f"unknown schema or unit {schema}, {unit}", "samples",
                         f"choose one of {', '.join(SCHEMA_NAMES)} and one of {', '.join(MM_PER_UNIT)}")
    step = Step(schema, MM_PER_UNIT[unit], space)
    if step.old:
        step.owner = _owner(step)
    origin, z, x, y = step.point(0.0, 0.0, 0.0), step.direction(0, 0, 1), step.direction(1, 0, 0), step.direction(0, 1, 0)
    upright = step.add(f"IFCAXIS2PLACEMENT3D({origin},{z},{x})")
    context = step.add(f"IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-05,{upright},$)")
    body = step.add(f"IFCGEOMETRICREPRESENTATIONSUBCONTEXT('Body','Model',*,*,*,*,{context},$,.MODEL_VIEW.,$)")
    project = step.add(f"IFCPROJECT({step.root('project')},{quoted(name)},{quoted(about)},$,$,$,({context}),{_units(step, unit)})")
    storeys = _spatial(step, project, upright, levels)
    return Frame(step, context, body, x, y, z, upright, storeys)


def _owner(step: Step) -> str:
    person = step.add("IFCPERSON('invented','Invented','Author',$,$,$,$,$)")
    office = step.add("IFCORGANIZATION($,'Invented office',$,$,$)")
    who = step.add(f"IFCPERSONANDORGANIZATION({person},{office},$)")
    tool = step.add(f"IFCAPPLICATION({office},'1','bimcheck samples','bimcheck-samples')")
    return step.add(f"IFCOWNERHISTORY({who},{tool},$,.ADDED.,$,$,$,{CREATED})")


def _units(step: Step, unit: str) -> str:
    """The unit assignment; feet and inches by conversion."""
    length = step.add(f"IFCSIUNIT(*,.LENGTHUNIT.,{PREFIX.get(unit, '$')},.METRE.)")
    if unit not in PREFIX:
        size = step.add(f"IFCMEASUREWITHUNIT(IFCLENGTHMEASURE({real(MM_PER_UNIT[unit] / 1000.0)}),{length})")
        exponents = step.add("IFCDIMENSIONALEXPONENTS(1,0,0,0,0,0,0)")
        length = step.add(f"IFCCONVERSIONBASEDUNIT({exponents},.LENGTHUNIT.,'{unit}',{size})")
    area = step.add("IFCSIUNIT(*,.AREAUNIT.,$,.SQUARE_METRE.)")
    volume = step.add("IFCSIUNIT(*,.VOLUMEUNIT.,$,.CUBIC_METRE.)")
    angle = step.add("IFCSIUNIT(*,.PLANEANGLEUNIT.,$,.RADIAN.)")
    return step.add(f"IFCUNITASSIGNMENT({listed((length, area, volume, angle))})")


def _spatial(step: Step, project: str, upright: str, levels: Sequence[tuple[str, float]]) -> list[Storey]:
    at_site = step.add(f"IFCLOCALPLACEMENT($,{upright})")
    site = step.add(f"IFCSITE({step.root('site')},'Invented site',$,$,{at_site},$,$,.ELEMENT.,$,$,0.,$,$)")
    at_building = step.add(f"IFCLOCALPLACEMENT({at_site},{upright})")
    building = step.add(f"IFCBUILDING({step.root('building')},'Invented building',$,$,{at_building},$,$,.ELEMENT.,$,$,$)")
    storeys = [_storey(step, at_building, name, elevation) for name, elevation in levels]
    for whole, parts in ((project, [site]), (site, [building]), (building, [s.ref for s in storeys])):
        step.add(f"IFCRELAGGREGATES({step.root(f'in {whole}')},$,$,{whole},{listed(parts)})")
    return storeys


def _storey(step: Step, parent: str, name: str, elevation: float) -> Storey:
    axes = step.add(f"IFCAXIS2PLACEMENT3D({step.point(0.0, 0.0, elevation)},$,$)")
    placement = step.add(f"IFCLOCALPLACEMENT({parent},{axes})")
    ref = step.add(f"IFCBUILDINGSTOREY({step.root(f'storey {name}')},{quoted(name)},$,$,{placement},$,$,.ELEMENT.,{step.mm(elevation)})")
    return Storey(name, elevation, ref, placement)


def element(frame: Frame, storey: Storey, cls: str, mark: str, name: str, kind: str, axes: str, shape: str,
            material: str = "", predefined: str = "") -> str:
    """An element in its storey; `mark` is its Tag and makes its GlobalId.  axes: the placement relative to the storey."""
    step = frame.step
    default, always = CLASSES[cls]
    tail = f",{predefined or default}" if always or not step.old else ""
    placement = step.add(f"IFCLOCALPLACEMENT({storey.placement},{axes})")
    ref = step.add(f"{cls.upper()}({step.root(mark)},'{name}',$,'{kind}',{placement},{shape},'{mark}'{tail})")
    storey.elements.append(ref)
    if material:
        frame.materials.setdefault(material, []).append(ref)
    if step.old and cls == "IfcPlate":
        frame.plates.append(ref)
    return ref


def axes_at(step: Step, location: tuple[float, float, float], n: str, u: str) -> str:
    """A placement whose z is the facade's outward normal and whose x its horizontal."""
    return step.add(f"IFCAXIS2PLACEMENT3D({step.point(*location)},{n},{u})")


def finish(frame: Frame, path: Path, about: str, looks: Mapping[str, Look] | None = None) -> Path:
    """Containment, materials and types, then the file itself.  looks: by material name, where there are any (not IFC2X3)."""
    step = frame.step
    for storey in frame.storeys:
        for k, part in enumerate(chunks(storey.elements, PER_RELATION)):
            step.add(f"IFCRELCONTAINEDINSPATIALSTRUCTURE({step.root(f'contained {storey.name} {k}')},$,$,{listed(part)},{storey.ref})")
    for name, elements in frame.materials.items():
        material = _material(frame, name, (looks or {}).get(name))
        for k, part in enumerate(chunks(elements, PER_RELATION)):
            step.add(f"IFCRELASSOCIATESMATERIAL({step.root(f'material {name} {k}')},$,$,{listed(part)},{material})")
    if frame.plates:
        _plate_type(frame)
    return step.write(path, about)


def _material(frame: Frame, name: str, look: Look | None) -> str:
    """The material, or the usage of its layer set."""
    step = frame.step
    material = step.add(f"IFCMATERIAL('{name}'{'' if step.old else ',$,$'})")
    if look is None:
        return material
    colour = step.add(f"IFCCOLOURRGB($,{','.join([real(v) for v in look.colour])})")
    shading = step.add(f"IFCSURFACESTYLESHADING({colour},0.)")
    style = step.add(f"IFCSURFACESTYLE('{name}',.BOTH.,({shading}))")
    item = step.add(f"IFCSTYLEDITEM($,({style}),$)")
    styled = step.add(f"IFCSTYLEDREPRESENTATION({frame.context},'Style','Material',({item}))")
    step.add(f"IFCMATERIALDEFINITIONREPRESENTATION($,$,({styled}),{material})")
    if not look.layer:
        return material
    layer = step.add(f"IFCMATERIALLAYER({material},{step.mm(look.layer)},$,$,$,$,$)")
    layers = step.add(f"IFCMATERIALLAYERSET(({layer}),'{name}',$)")
    return step.add(f"IFCMATERIALLAYERSETUSAGE({layers},.AXIS3.,.POSITIVE.,0.,$)")


def _plate_type(frame: Frame) -> None:
    """IFC2X3 states the predefined type of a plate on its type only."""
    step = frame.step
    of = step.add(f"IFCPLATETYPE({step.root('plate type')},'Facade panel',$,$,$,$,$,$,.CURTAIN_PANEL.)")
    for k, part in enumerate(chunks(frame.plates, PER_RELATION)):
        step.add(f"IFCRELDEFINESBYTYPE({step.root(f'typed {k}')},$,$,{listed(part)},{of})")
