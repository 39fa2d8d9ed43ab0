"""Property sets, only as far as reading needs them: sets of one name on one element, and a reference mark."""

from __future__ import annotations

from collections.abc import Container
from typing import Any


def doubled_sets(file: Any, wanted: Container[int]) -> dict[int, str]:
    """Element number -> name of a property set or quantity set that it has twice."""
    seen: dict[int, set[str]] = {}
    doubled: dict[int, str] = {}
    names: dict[int, str] = {}
    for relation in file.by_type("IfcRelDefinesByProperties"):
        definition = relation[5]
        if definition is None:
            continue
        for element in relation[4] or ():
            key = element.id()
            if key not in wanted:
                continue
            number = definition.id()
            name = names.get(number)
            if name is None:
                name = names[number] = definition[2] or ""
            held = seen.setdefault(key, set())
            if name in held and name:
                doubled.setdefault(key, name)
            held.add(name)
    return doubled


def references(file: Any, wanted: Container[int]) -> dict[int, str]:
    """Element number -> property Reference of its Pset_...Common, for elements without a piece mark."""
    found: dict[int, str] = {}
    for relation in file.by_type("IfcRelDefinesByProperties"):
        keys = [e.id() for e in relation[4] or () if e.id() in wanted]
        definition = relation[5]
        if not keys or definition is None or not definition.is_a("IfcPropertySet"):
            continue
        name = definition[2] or ""
        if name.startswith("Pset_") and name.endswith("Common"):
            mark = _reference(definition)
            found.update({k: mark for k in keys if mark})
    return found


def _reference(definition: Any) -> str:
    for item in definition[4] or ():
        if item[0] == "Reference" and item.is_a("IfcPropertySingleValue") and item[2] is not None:
            return str(item[2].wrappedValue)
    return ""
