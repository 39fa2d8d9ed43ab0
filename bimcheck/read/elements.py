"""The table of elements: attributes, bodies and verdicts of one model put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table
from bimcheck.read.attributes import Attributes, attributes
from bimcheck.read.choose import considered, queried
from bimcheck.read.collect import collect
from bimcheck.read.company import company
from bimcheck.read.found import Found
from bimcheck.read.links import Links
from bimcheck.read.model import Opened
from bimcheck.read.openings import cut_openings
from bimcheck.read.place import Placer
from bimcheck.read.plates import per_element, read_plates, to_world
from bimcheck.read.settings import ReadSettings
from bimcheck.read.sides import choose_faces
from bimcheck.read.suit import OUT, PANEL, Facts, decide

TEXTS = ("guid", "name", "mark", "ifc_class", "storey", "surface", "parent_guid")


@dataclass(frozen=True)
class ReadElements:
    """table: the elements; written: what the author wrote about each row; ids: their numbers."""

    table: Table
    written: list[Attributes]
    ids: set[int]


def read_elements(opened: Opened, index: int, placer: Placer, links: Links, settings: ReadSettings, only: str | None) -> ReadElements:
    file, chosen = opened.file, settings.selection
    include = queried(file, chosen.include, "[selection] include")
    exclude = queried(file, chosen.exclude, "[selection] exclude")
    elements = asked_for(file, links, settings, only, include)
    written = attributes(file, elements, links)
    found = bodies_of(opened, placer, links, elements, settings)
    verdict = verdicts(elements, written, found, settings, include, exclude)
    return ReadElements(_table(opened, index, elements, written, found, verdict), written, {e.id() for e in elements})


def asked_for(file: Any, links: Links, settings: ReadSettings, only: str | None, include: set[int]) -> list[Any]:
    """The elements considered, by number; only: a query that restricts them."""
    elements = considered(file, links, settings.selection.classes, include)
    asked = queried(file, [only], "--only") if only else set()
    return [e for e in elements if e.id() in asked] if only else elements


def bodies_of(opened: Opened, placer: Placer, links: Links, elements: Sequence[Any], settings: ReadSettings) -> Found:
    """Plates of all elements in world coordinates, openings cut."""
    taper = settings.reading.taper_mm
    bodies = collect(opened.file, placer, elements)
    found = per_element(read_plates(bodies.body, taper), bodies.index)
    matrices = placer.many([e.get_argument(5) for e in elements])
    cut_openings(opened.file, placer, elements, links.voids, found, matrices, taper)
    to_world(found, matrices)
    choose_faces(found, matrices)
    return found


def verdicts(elements: Sequence[Any], written: Sequence[Attributes], found: Found, settings: ReadSettings, include: set[int],
             exclude: set[int]) -> list[tuple[str, str]]:
    """Status and reason of every element; a whole whose parts are panels is none itself."""
    width, height = (np.round(x, 2).tolist() for x in found.extents())
    level, thickness = np.round(np.abs(found.n[:, 2]), 3).tolist(), np.round(found.thickness, 2).tolist()
    beside = np.minimum(company(found), 1).tolist()
    asked = set(settings.selection.classes)
    known: dict[Facts, tuple[str, str]] = {}  # most elements are alike
    out = []
    for i, (element, a) in enumerate(zip(elements, written, strict=True)):
        number = element.id()
        facts = Facts(
            a.ifc_class, a.predefined, a.texts, a.names, found.state[i], width[i], height[i], thickness[i], level[i], found.form[i],
            a.has_parts, a.in_curtain_wall, number in include, number in exclude, a.ifc_class in asked, beside[i])
        if facts not in known:
            known[facts] = decide(facts, settings)
        out.append(known[facts])
    return _wholes(written, out)


def _wholes(written: Sequence[Attributes], verdict: list[tuple[str, str]]) -> list[tuple[str, str]]:
    parents: Mapping[str, str] = {a.guid: a.parent_guid for a in written if a.parent_guid}
    above: set[str] = set()
    for a, (status, _) in zip(written, verdict, strict=True):
        parent = a.parent_guid if status == PANEL else ""
        while parent and parent not in above:
            above.add(parent)
            parent = parents.get(parent, "")
    return [(OUT, "not-a-panel: assembled of parts") if status == PANEL and a.has_parts and a.guid in above else (status, reason)
            for a, (status, reason) in zip(written, verdict, strict=True)]


def _table(opened: Opened, index: int, elements: Sequence[Any], written: Sequence[Attributes], found: Found,
           verdict: Sequence[tuple[str, str]]) -> Table:
    n = len(elements)
    columns: dict[str, Any] = {name: text([getattr(a, name) for a in written]) for name in TEXTS}
    return Table("elements", n, columns | {
        "step_id": np.array([e.id() for e in elements], dtype=np.int64),
        "model": text([opened.name] * n), "model_index": np.full(n, index, dtype=np.int64),
        "status": text([s for s, _ in verdict]), "reason": text([r for _, r in verdict]),
        "material_name": text([a.names.main for a in written]),
        "raw_origin": found.origin, "raw_u": found.u, "raw_v": found.v, "raw_n": found.n,
        "raw_outline": Ragged.of(found.outline, (3,)), "raw_outline_back": Ragged.of(found.back, (3,)),
        "thickness": found.thickness, "thickness_max": found.thickness_max, "form": found.form, "sagitta": found.sagitta})


def text(values: Sequence[str]) -> NDArray[np.object_]:
    out = np.empty(len(values), dtype=object)
    out[:] = values
    return out
