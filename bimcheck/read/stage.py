"""read: models in, the elements considered, the bodies about them and what the files say of the site out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Ragged, Table
from bimcheck.read.body_rows import bodies, meshes
from bimcheck.read.candidates import Candidate, considered, queried, read_candidates
from bimcheck.read.findings import findings
from bimcheck.read.links import Links, read_links
from bimcheck.read.model import Opened, Source, open_models
from bimcheck.read.obstacles import obstacle_elements, obstacle_table
from bimcheck.read.rows import element_table, joined, judged, stated
from bimcheck.read.sets import doubled_sets, references
from bimcheck.read.settings import ReadSettings
from bimcheck.read.site import Site, read_site
from bimcheck.read.suitability import Explicit, is_explicit

CONTAINERS = frozenset({"IfcCurtainWall", "IfcElementAssembly"})
NOT_BEHIND = ("insulation", "membrane", "lining", "ceiling", "floor covering", "container", "left out", "roof covering",
              "wrapping", "sleeve", "skirting board", "moulding", "coping", "topping", "horizontal covering", "marker",
              "inside a room", "provision for", "furniture", "longer than a single panel")


@dataclass(frozen=True)
class ReadModel(Opened):
    """An opened model and what it holds.  others: elements that are not considered, by class; base: the author's base
    name; project_guid: GlobalId of its IfcProject."""

    base: str = ""
    project_guid: str = ""
    others: Counter[str] | None = None


@dataclass(frozen=True)
class ReadResult:
    """elements: a row an element considered, by model and entity number.  obstacles: bodies behind or beside panels."""

    elements: Table
    obstacles: Table
    site: Site
    models: tuple[ReadModel, ...]
    issues: tuple[Issue, ...]


def read_models(sources: Sequence[Source], settings: ReadSettings, *, explicit_match: Explicit | Sequence[str] = (),
                only: str | None = None) -> ReadResult:
    """Read all models of a run.

    sources: paths, opened files, or (name, bytes).  explicit_match: globs of the project's panel materials, or a function
    of material name and recognised word; an explicit one overrides the recognition of unsuited materials.  only: query;
    elements it does not select are out of scope.  Raises InputError.
    """
    explicit = explicit_match if callable(explicit_match) else is_explicit(explicit_match)
    opened = open_models(sources, settings)
    read = [_Model(i, m, settings, explicit, only) for i, m in enumerate(opened)]
    parts = [m.tables() for m in read]
    elements = joined("elements", [e for e, _, _ in parts])
    obstacles = joined("obstacles", [o for _, o, _ in parts])
    starts = np.cumsum([0, *(e.n for e, _, _ in parts)]).tolist()
    doubled = {start + row: name for start, (_, _, sets) in zip(starts, parts, strict=False) for row, name in sets.items()}
    return ReadResult(elements, obstacles, read_site(opened, settings.model.ground_m), tuple(m.summary() for m in read),
                      tuple(findings(elements, obstacles, doubled, opened)))


class _Model:
    """One model on its way to tables."""

    def __init__(self, index: int, opened: Opened, settings: ReadSettings, explicit: Explicit, only: str | None) -> None:
        self.index, self.opened, self.settings, self.explicit = index, opened, settings, explicit
        self.links: Links = read_links(opened.file)
        elements = considered(opened.file, settings.selection.classes, self.links)
        kept = queried(opened.file, settings.selection.include, "[selection] include")
        more = [opened.file.by_id(k) for k in sorted(kept - {e.id() for e in elements}) if opened.file.by_id(k).is_a("IfcElement")]
        self.kept = kept
        self.candidates = read_candidates(sorted([*elements, *more], key=lambda e: e.id()), self.links)
        self.left_out = self._left_out(only)

    def _left_out(self, only: str | None) -> dict[int, str]:
        selection, file = self.settings.selection, self.opened.file
        out = dict.fromkeys(queried(file, selection.exclude, "[selection] exclude"), "not-a-panel:excluded by the project file")
        if only is not None:
            chosen = queried(file, [only], "--only")
            out |= {c.step_id: "not-a-panel:left out by --only" for c in self.candidates if c.step_id not in chosen}
        return out

    def tables(self) -> tuple[Table, Table, dict[int, str]]:
        """(elements, obstacles, row -> name of a set it has twice)."""
        candidates, opened = self.candidates, self.opened
        reasons = stated(candidates, self.explicit, CONTAINERS, self.left_out, self.kept)
        found = bodies(opened.file, [c.entity for c in candidates], self.links, opened.factor, self.settings.reading.taper_mm)
        status, reason = judged(candidates, reasons, found, self.kept, self.settings.reading)
        elements = element_table(opened.name, self.index, candidates, self._marks(), found, status, reason)
        doubled = doubled_sets(opened.file, {c.step_id for c in candidates})
        rows = {c.step_id: row for row, c in enumerate(candidates)}
        return elements, self._obstacles(reason, status), {rows[k]: name for k, name in doubled.items()}

    def _marks(self) -> list[str]:
        blank = {c.step_id for c in self.candidates if not c.mark}
        found = references(self.opened.file, blank) if blank else {}
        return [c.mark or found.get(c.step_id, "") for c in self.candidates]

    def _obstacles(self, reason: Any, status: Any) -> Table:
        """Elements that were not considered, and considered ones that turned out to be no panel but have a body."""
        file = self.opened.file
        own = [(c, str(r)) for c, r, s in zip(self.candidates, reason, status, strict=True)
               if s == "out_of_scope" and c.body and str(r).startswith("not-a-panel:") and not _not_behind(str(r))]
        others = read_candidates(obstacle_elements(file, {c.step_id: c for c in self.candidates}), self.links)
        every: list[tuple[Candidate, str]] = sorted([*own, *((c, "") for c in others)], key=lambda pair: pair[0].step_id)
        if not every:
            return obstacle_table(self.opened.name, [], [], [], Ragged.of([], (9,)), np.zeros((0, 6)))
        ids, triangles, box = meshes(file, [c.entity for c, _ in every], self.opened.factor)
        return obstacle_table(self.opened.name, [c for c, _ in every], [r for _, r in every], ids, triangles, box)

    def summary(self) -> ReadModel:
        o = self.opened
        known = {c.step_id for c in self.candidates}
        others = Counter(e.is_a() for e in o.file.by_type("IfcElement") if e.id() not in known)
        return ReadModel(o.file, o.path, o.name, o.schema, o.factor, o.unit, o.sha256, o.size, o.name.removesuffix(".ifc"),
                         o.file.by_type("IfcProject")[0][0] or "", others)


def _not_behind(reason: str) -> bool:
    return reason.removeprefix("not-a-panel:").startswith(NOT_BEHIND)


