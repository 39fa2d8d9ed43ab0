"""Which elements are considered: the classes of the selection with their parts, and what queries say."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import ifcopenshell
import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.ids import derived
from bimcheck.core.plugins import later
from bimcheck.read.links import Links
from bimcheck.read.model import SCHEMAS
from bimcheck.read.source import Source

_filter_elements = later("ifcopenshell.util.selector:filter_elements")  # its grammar loads only where there is a query
Ints = NDArray[np.int64]
NOT_BODIES = ("IfcFeatureElement", "IfcVirtualElement", "IfcGrid", "IfcAnnotation")


def considered(source: Source, links: Links, classes: Iterable[str], include: set[int]) -> Ints:
    """Rows of elements by number: every occurrence of the classes, what queries add, and all their parts."""
    step = source.step
    found = set(step.numbers[of_class(source, classes)].tolist()) | include
    waiting = [n for n in found if n in links.parts]
    while waiting:
        new = [n for n in links.parts.get(waiting.pop(), ()) if n not in found]
        found.update(new)
        waiting += new
    rows = step.rows(sorted(found))
    return rows[is_body(source, rows) & ~ours(source, rows, links)]


def is_body(source: Source, rows: Ints) -> NDArray[np.bool_]:
    """(n,) elements, but neither openings nor what only divides space."""
    return source.is_a(rows, "IfcElement") & ~source.is_a(rows, NOT_BODIES[0]) & ~source.is_a(rows, NOT_BODIES[1])


def of_class(source: Source, names: Iterable[str]) -> Ints:
    """Rows of classes and their subclasses; raises InputError for a name that no schema has."""
    declared = [_declared(name) for name in names]
    return source.of_class(*declared)


def _declared(name: str) -> str:
    """The name as the schemas spell it."""
    for schema in SCHEMAS:
        try:
            return str(ifcopenshell.ifcopenshell_wrapper.schema_by_name(schema).declaration_by_name(name).name())
        except RuntimeError:
            continue
    raise InputError(f"no IFC class '{name}'", "[selection] classes", "correct the name")


def ours(source: Source, rows: Ints, links: Links) -> NDArray[np.bool_]:
    """(n,) anchors that an earlier run of this program wrote: their GlobalId follows from the panel's."""
    out = source.is_a(rows, "IfcMechanicalFastener")
    for i in np.flatnonzero(out).tolist():
        element = source.file.by_id(int(source.step.numbers[rows[i]]))
        panel = links.parents.get(element.id())
        out[i] = panel is not None and any(
            element[0] == derived(source.file.by_id(panel)[0], "anchor", str(element[2] or ""), k) for k in range(8))
    return out


def queried(file: Any, queries: Iterable[str], where: str) -> set[int]:
    """Numbers of the elements that any of the queries selects."""
    found: set[int] = set()
    for query in queries:
        try:
            found |= {e.id() for e in _filter_elements(file, query)}
        except Exception as problem:
            raise InputError(f"query '{query}' is not understood", where, "use the selector syntax, for example: IfcPlate, Name=/FP.*/") from problem
    return found
