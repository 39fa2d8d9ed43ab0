"""The table of elements: attributes, bodies and verdicts of one model put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table
from bimcheck.read.attributes import Attributes, Listed, attributes, listed
from bimcheck.read.choose import considered, queried
from bimcheck.read.collect import collect
from bimcheck.read.company import company
from bimcheck.read.found import Found
from bimcheck.read.links import Links
from bimcheck.read.model import Opened
from bimcheck.read.openings import cut_openings
from bimcheck.read.place import Floats, Placer
from bimcheck.read.plates import read_bodies, to_world
from bimcheck.read.settings import ReadSettings
from bimcheck.read.sides import choose_faces
from bimcheck.read.source import Source
from bimcheck.read.suit import OUT, PANEL, Facts, decide

Ints = NDArray[np.int64]
TEXTS = ("guid", "name", "mark", "ifc_class", "storey", "surface", "parent_guid")


@dataclass(frozen=True)
class ReadElements:
    """table: the elements; written: what the author wrote about each row; listed: their lines."""

    table: Table
    written: list[Attributes]
    listed: Listed


def read_elements(opened: Opened, index: int, source: Source, placer: Placer, links: Links, settings: ReadSettings, only: str | None) -> ReadElements:
    chosen = settings.selection
    include = queried(source.file, chosen.include, "[selection] include")
    exclude = queried(source.file, chosen.exclude, "[selection] exclude")
    elements = listed(source, asked_for(source, links, settings, only, include))
    written = attributes(elements, links)
    matrices = placer.many(source, elements.placement)
    found = bodies_of(placer, links, elements, matrices, settings)
    verdict = verdicts(elements, written, found, settings, include, exclude)
    table = _table(opened, index, elements, written, found, verdict).with_columns(**_placed(elements, matrices))
    return ReadElements(table, written, elements)


def _placed(elements: Listed, matrices: Floats) -> dict[str, Any]:
    """What write-back places anchors by: the local placement of each element, 0 where it has another or none."""
    local = elements.source.step.is_one(elements.placement, "IFCLOCALPLACEMENT")
    matrices = np.where(local[:, None, None], matrices, np.eye(4))
    return {"placement": np.where(local, elements.placement, 0), "placed": matrices[:, :3].reshape(-1, 12)}


def asked_for(source: Source, links: Links, settings: ReadSettings, only: str | None, include: set[int]) -> Ints:
    """Rows of the elements considered, by number; only: a query that restricts them."""
    rows = considered(source, links, settings.selection.classes, include)
    return rows[np.isin(source.step.numbers[rows], list(queried(source.file, [only], "--only")))] if only else rows


def bodies_of(placer: Placer, links: Links, elements: Listed, matrices: Floats, settings: ReadSettings) -> Found:
    """Plates of all elements in world coordinates, openings cut; matrices (n, 4, 4): of the elements' placements."""
    taper, source = settings.reading.taper_mm, elements.source
    found = read_bodies(collect(source, placer, elements.numbers, elements.shape), taper)
    cut_openings(placer, elements, links.voids, found, matrices, taper)
    to_world(found, matrices)
    choose_faces(found, matrices)
    return found


def verdicts(elements: Listed, written: Sequence[Attributes], found: Found, settings: ReadSettings, include: set[int],
             exclude: set[int]) -> list[tuple[str, str]]:
    """Status and reason of every element; a whole whose parts are panels is none itself."""
    width, height = (np.round(x, 2).tolist() for x in found.extents())
    level, thickness = np.round(np.abs(found.n[:, 2]), 3).tolist(), np.round(found.thickness, 2).tolist()
    beside = np.minimum(company(found), 1).tolist()
    asked = set(settings.selection.classes)
    known: dict[Facts, tuple[str, str]] = {}  # most elements are alike
    out = []
    for i, (number, a) in enumerate(zip(elements.numbers.tolist(), written, strict=True)):
        facts = Facts(
            a.ifc_class, a.predefined, a.texts, a.names, found.state[i], width[i], height[i], thickness[i], level[i], found.form[i],
            a.has_parts, a.in_curtain_wall, number in include, number in exclude, a.ifc_class in asked, beside[i])
        verdict = known.get(facts)
        if verdict is None:
            verdict = known[facts] = decide(facts, settings)
        out.append(verdict)
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


def _table(opened: Opened, index: int, elements: Listed, written: Sequence[Attributes], found: Found,
           verdict: Sequence[tuple[str, str]]) -> Table:
    n = len(elements.numbers)
    columns: dict[str, Any] = {name: text([getattr(a, name) for a in written]) for name in TEXTS}
    return Table("elements", n, columns | {
        "step_id": elements.numbers,
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
