"""What the author wrote about the considered elements: names, marks, types, materials, storeys, property sets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bimcheck.read import words
from bimcheck.read.links import Links, Storeys
from bimcheck.read.materials import Materials, Names

SURFACE = ("Finish", "SurfaceFinish", "Surface", "Colour", "Color", "Farbe", "Oberflaeche", "Oberfläche", "Couleur")
WANTED = {"Reference", *SURFACE}


@dataclass(slots=True)
class Attributes:
    """One element as written.  texts: all that names it, plain; twice: names of property sets it has twice."""

    guid: str
    name: str
    mark: str
    ifc_class: str
    predefined: str
    texts: str
    names: Names
    storey: str
    surface: str
    parent_guid: str
    in_curtain_wall: bool
    has_parts: bool
    twice: tuple[str, ...] = ()


def attributes(file: Any, elements: Sequence[Any], links: Links) -> list[Attributes]:
    materials, sets = Materials(links), _sets(file, {e.id() for e in elements})
    kinds, storeys = _PredefinedTypes(), Storeys(links)
    return [_one(e, links, materials, sets.get(e.id(), ({}, ())), kinds, storeys) for e in elements]


def _one(element: Any, links: Links, materials: Materials, sets: tuple[dict[str, str], tuple[str, ...]], kinds: _PredefinedTypes,
         storeys: Storeys) -> Attributes:
    properties, twice = sets
    number = element.id()
    kind = links.types.get(number)
    parent = links.parents.get(number)
    name, object_type = element.get_argument(2), element.get_argument(4)
    return Attributes(
        guid=str(element.get_argument(0)), name=str(name or ""), mark=str(element.get_argument(7) or properties.get("Reference") or ""),
        ifc_class=element.is_a(), predefined=kinds.of(element, kind, object_type),
        texts=words.words_of(name, object_type, kind.get_argument(2) if kind is not None else None), names=materials.of(element),
        storey=storeys.of(element), surface=next((properties[k] for k in SURFACE if properties.get(k)), ""),
        parent_guid=str(parent.get_argument(0)) if parent is not None else "",
        in_curtain_wall=parent is not None and _in_curtain_wall(parent, links), has_parts=_has_parts(number, links), twice=twice)


def _has_parts(number: int, links: Links) -> bool:
    """Parts that are bodies of their own; fasteners and brackets make no assembly of a panel."""
    return any(not p.is_a("IfcElementComponent") or p.is_a("IfcBuildingElementPart") for p in links.parts.get(number, ()))


def _in_curtain_wall(element: Any, links: Links) -> bool:
    seen: set[int] = set()
    while element is not None and element.id() not in seen:
        if element.is_a("IfcCurtainWall"):
            return True
        seen.add(element.id())
        element = links.parents.get(element.id())
    return False


class _PredefinedTypes:
    """The predefined type of an occurrence, else of its type; which attribute it is, is looked up once a class."""

    def __init__(self) -> None:
        self._at: dict[str, int] = {}
        self._of_type: dict[int, str] = {}

    def of(self, element: Any, kind: Any, object_type: Any) -> str:
        own = self._value(element)
        if own in ("", "NOTDEFINED") and kind is not None:
            key = kind.id()
            if key not in self._of_type:
                self._of_type[key] = self._value(kind)
            own = self._of_type[key] or own
        return str(object_type or "").upper().replace(" ", "_") if own == "USERDEFINED" else own

    def _value(self, entity: Any) -> str:
        name = entity.is_a()
        if name not in self._at:
            names = [entity.attribute_name(k) for k in range(len(entity))]
            self._at[name] = names.index("PredefinedType") if "PredefinedType" in names else -1
        at = self._at[name]
        return str(entity.get_argument(at) or "") if at >= 0 else ""


def _sets(file: Any, wanted: set[int]) -> dict[int, tuple[dict[str, str], tuple[str, ...]]]:
    """By element: the properties that matter here, and the names of property sets it carries twice."""
    read: dict[int, tuple[str, dict[str, str]]] = {}
    names: dict[int, list[str]] = {}
    values: dict[int, dict[str, str]] = {}
    for relation in file.by_type("IfcRelDefinesByProperties"):
        definition = relation.get_argument(5)
        if definition is None or not definition.is_a("IfcPropertySet"):
            continue
        key = definition.id()
        if key not in read:
            read[key] = (str(definition.get_argument(2) or ""), _interesting(definition))
        for element in relation.get_argument(4) or ():
            number = element.id()
            if number in wanted:
                names.setdefault(number, []).append(read[key][0])
                values.setdefault(number, {}).update(read[key][1])
    return {n: (values[n], _repeated(names[n])) for n in names}


def _repeated(names: list[str]) -> tuple[str, ...]:
    return tuple(sorted({n for n in names if n and names.count(n) > 1})) if len(set(names)) < len(names) else ()


def _interesting(definition: Any) -> dict[str, str]:
    out = {}
    for entry in definition.get_argument(4) or ():
        if entry.is_a() == "IfcPropertySingleValue" and entry.get_argument(0) in WANTED:
            value = entry.get_argument(2)
            if value is not None:
                out[str(entry.get_argument(0))] = str(value.get_argument(0))
    return out
