"""The relationships of a file, each relation read once: entity number -> what it belongs to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

SPATIAL = "IfcBuildingStorey"


@dataclass(frozen=True)
class Links:
    """By entity number: type object, material definition, parent element, parts, storey name, openings."""

    types: Mapping[int, Any]
    materials: Mapping[int, Any]
    parents: Mapping[int, Any]
    parts: Mapping[int, list[Any]]
    containers: Mapping[int, Any]
    voids: Mapping[int, list[Any]]


def read_links(file: Any) -> Links:
    types = {o.id(): r[5] for r in file.by_type("IfcRelDefinesByType") for o in r[4] or ()}
    materials = {o.id(): r[5] for r in file.by_type("IfcRelAssociatesMaterial") for o in r[4] or () if r[5] is not None}
    parents: dict[int, Any] = {}
    parts: dict[int, list[Any]] = {}
    for relation in (*file.by_type("IfcRelAggregates"), *file.by_type("IfcRelNests")):
        _decompose(relation, parents, parts)
    containers = {o.id(): r[5] for r in file.by_type("IfcRelContainedInSpatialStructure") for o in r[4] or ()}
    voids: dict[int, list[Any]] = {}
    for relation in file.by_type("IfcRelVoidsElement"):
        if relation[4] is not None and relation[5] is not None:
            voids.setdefault(relation[4].id(), []).append(relation[5])
    return Links(types, materials, parents, parts, containers, voids)


def _decompose(relation: Any, parents: dict[int, Any], parts: dict[int, list[Any]]) -> None:
    whole = relation[4]
    if whole is None or not whole.is_a("IfcElement"):
        return
    own = [o for o in relation[5] or () if o.is_a("IfcElement")]
    parts.setdefault(whole.id(), []).extend(own)
    for part in own:
        parents.setdefault(part.id(), whole)


class Storeys:
    """Names of the storeys that contain elements, each container read once."""

    def __init__(self, links: Links) -> None:
        self._links = links
        self._names: dict[int, str] = {}

    def of(self, element: Any) -> str:
        """Of the element or, first found upwards, of one that it is part of."""
        seen: set[int] = set()
        while element is not None and element.id() not in seen:
            seen.add(element.id())
            container = self._links.containers.get(element.id())
            if container is not None:
                return self._name(container)
            element = self._links.parents.get(element.id())
        return ""

    def _name(self, container: Any) -> str:
        key = container.id()
        if key not in self._names:
            self._names[key] = str(container[2] or "") if container.is_a(SPATIAL) else ""
        return self._names[key]
