"""Which elements are considered: the classes of the selection with their parts, and what queries say."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import ifcopenshell

from bimcheck.core.errors import InputError
from bimcheck.core.ids import derived
from bimcheck.core.plugins import later
from bimcheck.read.links import Links
from bimcheck.read.model import SCHEMAS

_filter_elements = later("ifcopenshell.util.selector:filter_elements")  # its grammar loads only where there is a query
NOT_BODIES = ("IfcFeatureElement", "IfcVirtualElement", "IfcGrid", "IfcAnnotation")


def considered(file: Any, links: Links, classes: Iterable[str], include: set[int]) -> list[Any]:
    """Elements in order of their numbers: every occurrence of the classes, what queries add, and all their parts."""
    found = {e.id(): e for c in classes for e in of_class(file, c)}
    found |= {i: file.by_id(i) for i in include}
    waiting = list(found)
    while waiting:
        for part in links.parts.get(waiting.pop(), ()):
            if part.id() not in found:
                found[part.id()] = part
                waiting.append(part.id())
    bodies = {name: is_body(e) for name, e in {e.is_a(): e for e in found.values()}.items()}
    return [found[i] for i in sorted(found) if bodies[found[i].is_a()] and not is_ours(found[i], links)]


def is_body(element: Any) -> bool:
    return element.is_a("IfcElement") and not any(element.is_a(c) for c in NOT_BODIES[:2])


def of_class(file: Any, name: str) -> list[Any]:
    """Occurrences of a class and its subclasses; raises InputError for a name that no schema has."""
    try:
        return list(file.by_type(name))
    except RuntimeError as problem:
        if any(_declared(schema, name) for schema in SCHEMAS):
            return []
        raise InputError(f"no IFC class '{name}'", "[selection] classes", "correct the name") from problem


def _declared(schema: str, name: str) -> bool:
    try:
        ifcopenshell.ifcopenshell_wrapper.schema_by_name(schema).declaration_by_name(name)
    except RuntimeError:
        return False
    return True


def is_ours(element: Any, links: Links) -> bool:
    """Anchors that an earlier run of this program wrote: their GlobalId follows from the panel's."""
    if element.is_a() != "IfcMechanicalFastener":
        return False
    panel = links.parents.get(element.id())
    return panel is not None and any(element[0] == derived(panel[0], "anchor", str(element[2] or ""), k) for k in range(8))


def queried(file: Any, queries: Iterable[str], where: str) -> set[int]:
    """Numbers of the elements that any of the queries selects."""
    found: set[int] = set()
    for query in queries:
        try:
            found |= {e.id() for e in _filter_elements(file, query)}
        except Exception as problem:
            raise InputError(f"query '{query}' is not understood", where, "use the selector syntax, for example: IfcPlate, Name=/FP.*/") from problem
    return found
