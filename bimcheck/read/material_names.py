"""Material names as the author wrote them: of the occurrence, else of its type; of a build-up, its main part."""

from __future__ import annotations

from typing import Any

from bimcheck.read.links import Links
from bimcheck.read.suitability import LAYERS, kind_of
from bimcheck.read.lexicon import MATERIAL, plain


class MaterialNames:
    """Names by element; each material definition is read once."""

    def __init__(self, links: Links) -> None:
        self._links = links
        self._seen: dict[int, str] = {}

    def of(self, element_id: int, type_id: int) -> str:
        """Blank where neither the element nor its type has a material."""
        for key in (element_id, type_id):
            definition = self._links.materials.get(key)
            if definition is not None:
                name = self._named(definition)
                if name:
                    return name
        return ""

    def _named(self, definition: Any) -> str:
        key = definition.id()
        if key not in self._seen:
            self._seen[key] = material_name(definition)
        return self._seen[key]


def material_name(definition: Any) -> str:
    """Name of an IfcMaterialSelect (IFC2X3 to IFC4X3): of several parts, the one a panel is known by."""
    kind = definition.is_a()
    if kind == "IfcMaterial":
        return (definition[0] or "").strip()
    if kind in ("IfcMaterialLayerSetUsage", "IfcMaterialProfileSetUsage", "IfcMaterialProfileSetUsageTapering"):
        return material_name(definition[0])
    return main_of(_parts(definition, kind)) or _own_name(definition)


def _parts(definition: Any, kind: str) -> list[tuple[str, float]]:
    """(name, thickness or share) of the parts; 0 where none is stated."""
    if kind == "IfcMaterialLayerSet":
        return [(_of(layer.Material), float(layer.LayerThickness or 0.0)) for layer in definition.MaterialLayers or ()]
    if kind in ("IfcMaterialLayer", "IfcMaterialLayerWithOffsets"):
        return [(_of(definition.Material), float(definition.LayerThickness or 0.0))]
    if kind == "IfcMaterialConstituentSet":
        return [(_of(c.Material), float(c.Fraction or 0.0)) for c in definition.MaterialConstituents or ()]
    if kind == "IfcMaterialConstituent":
        return [(_of(definition.Material), 0.0)]
    if kind == "IfcMaterialProfileSet":
        return [(_of(p.Material), 0.0) for p in definition.MaterialProfiles or ()]
    if kind == "IfcMaterialProfile":
        return [(_of(definition.Material), 0.0)]
    if kind == "IfcMaterialList":
        return [(_of(m), 0.0) for m in definition.Materials or ()]
    return []


def _of(material: Any) -> str:
    return (material[0] or "").strip() if material is not None else ""


def _own_name(definition: Any) -> str:
    for attribute in ("LayerSetName", "Name"):
        name = getattr(definition, attribute, None)
        if name:
            return str(name).strip()
    return ""


def main_of(parts: list[tuple[str, float]]) -> str:
    """The part a panel is known by: a honeycomb core first, then the thickest that is no air, insulation or membrane.

    The first of equals counts: exporters begin with the outer layer.
    """
    named = [(name, size) for name, size in parts if name]
    cores = [name for name, _ in named if kind_of(name).name == "honeycomb"]
    if cores:
        return cores[0]
    solid = [(n, s) for n, s in named if kind_of(n).name not in LAYERS and not MATERIAL["air"].fullmatch(plain(n))]
    chosen = solid or named
    return max(chosen, key=lambda part: part[1])[0] if chosen else ""


def surface_of(name: str) -> str:
    """Finish stated after the first comma of a material name ('Granite, flamed' -> 'flamed'); blank where none."""
    return name.partition(",")[2].strip()
