"""Elements considered, and their attributes read once by position."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import ifcopenshell.util.selector

from bimcheck.core.errors import InputError
from bimcheck.read.links import Links, storey_of
from bimcheck.read.material_names import MaterialNames

NOT_CONSIDERED = ("IfcFeatureElement", "IfcVirtualElement")


@dataclass(frozen=True, slots=True)
class Candidate:
    """An element with what its file says about it.  above: class of the element it is part of; parts: whether it has
    parts that may be panels; beside: classes of the other parts of the same whole; within: class of its container."""

    entity: Any
    step_id: int
    cls: str
    guid: str
    name: str
    object_type: str
    mark: str
    predefined: str
    type_name: str
    material: str
    storey: str
    parent_guid: str
    above: str
    beside: frozenset[str]
    within: str
    parts: bool
    body: bool


def considered(file: Any, classes: Sequence[str], links: Links) -> list[Any]:
    """Occurrences of the classes and their parts at any depth, by rising number; openings are none."""
    found: dict[int, Any] = {}
    waiting = [e for cls in classes for e in of_class(file, cls)]
    while waiting:
        element = waiting.pop()
        key = element.id()
        if key not in found and not any(element.is_a(c) for c in NOT_CONSIDERED):
            found[key] = element
            waiting.extend(links.parts.get(key, ()))
    return [found[key] for key in sorted(found)]


def of_class(file: Any, cls: str) -> Sequence[Any]:
    """Instances of a class with its subclasses; none where the schema has no such class."""
    try:
        return file.by_type(cls)
    except RuntimeError:
        return ()


def queried(file: Any, queries: Iterable[str], key: str) -> set[int]:
    """Numbers of the elements that any of the queries selects; raises InputError for a query that cannot be read."""
    found: set[int] = set()
    for query in queries:
        try:
            found |= {e.id() for e in ifcopenshell.util.selector.filter_elements(file, query)}
        except Exception as problem:
            raise InputError(f"the query '{query}' cannot be read", key, "write it in IfcOpenShell selector syntax, for "
                             "example: IfcPlate, material=Granite") from problem
    return found


def read_candidates(elements: Sequence[Any], links: Links) -> list[Candidate]:
    """In the order given; relations and types are looked up, never searched per element."""
    reader = _Reader(links)
    return [reader.read(e) for e in elements]


class _Reader:
    """What elements share is read once: types, wholes, containers, positions of attributes."""

    def __init__(self, links: Links) -> None:
        self._links = links
        self._materials = MaterialNames(links)
        self._types: dict[int, tuple[int, str, str]] = {0: (0, "", "")}
        self._wholes: dict[int, tuple[str, str, frozenset[str], str, str]] = {}
        self._predefined: dict[str, int] = {}

    def read(self, e: Any) -> Candidate:
        key, cls = e.id(), e.is_a()
        type_id, type_name, type_kind = self._type(self._links.types.get(key))
        stated = self._kind(e, cls)
        parent_guid, above, beside, storey, within = self._whole(key)
        own = self._links.containers.get(key)
        if own is not None:
            storey, within = storey_of(e, self._links), own.is_a()
        return Candidate(
            entity=e, step_id=key, cls=cls, guid=e[0] or "", name=e[2] or "", object_type=e[4] or "", mark=e[7] or "",
            predefined=stated if stated not in ("", "NOTDEFINED") else type_kind or stated, type_name=type_name,
            material=self._materials.of(key, type_id), storey=storey, parent_guid=parent_guid, above=above, beside=beside,
            within=within, parts=key in self._links.parts, body=e[6] is not None)

    def _kind(self, e: Any, cls: str) -> str:
        """PredefinedType, by its position in the class; blank where the class has none."""
        if cls not in self._predefined:
            names = [e.attribute_name(i) for i in range(len(e))]
            self._predefined[cls] = names.index("PredefinedType") if "PredefinedType" in names else -1
        position = self._predefined[cls]
        return (e[position] or "") if position >= 0 else ""

    def _type(self, kind: Any) -> tuple[int, str, str]:
        key = kind.id() if kind is not None else 0
        if key not in self._types:
            self._types[key] = (key, kind[2] or "", self._kind(kind, kind.is_a()))
        return self._types[key]

    def _whole(self, key: int) -> tuple[str, str, frozenset[str], str, str]:
        """GlobalId and class of the whole, classes of its parts, storey and class of container found through it."""
        whole = self._links.parents.get(key)
        if whole is None:
            return "", "", frozenset(), "", ""
        number = whole.id()
        if number not in self._wholes:
            beside = frozenset(p.is_a() for p in self._links.parts.get(number, ()))
            container = _container(whole, self._links)
            self._wholes[number] = (whole[0] or "", whole.is_a(), beside, storey_of(whole, self._links), container)
        return self._wholes[number]


def _container(element: Any, links: Links) -> str:
    """Class of the spatial element that holds the element or the whole it is part of; blank where there is none."""
    seen: set[int] = set()
    while element is not None and element.id() not in seen:
        seen.add(element.id())
        if element.id() in links.containers:
            return links.containers[element.id()].is_a()
        element = links.parents.get(element.id())
    return ""
