"""read: models in, tables of elements and obstacles, fact sheets and issues out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck.core.beside import Beside, worth_it
from bimcheck.core.tables import Table, concat
from bimcheck.read.choose import queried
from bimcheck.read.elements import asked_for, read_elements
from bimcheck.read.facts import ModelFacts, model_facts
from bimcheck.read.findings import findings
from bimcheck.read.links import Links, read_links
from bimcheck.read.model import Opened, open_models
from bimcheck.read.obstacles import among, near, others, read_obstacles, together
from bimcheck.read.place import Placer
from bimcheck.read.result import ReadResult
from bimcheck.read.settings import ReadSettings
from bimcheck.read.source import Source, source_of

LARGE = 4 << 20  # bytes of a model from which a second process is worth its start


def read_models(paths: Sequence[Path | str | Any], settings: ReadSettings | None = None, only: str | None = None) -> ReadResult:
    """Read the models of one building.

    paths: .ifc or .ifczip files, or open ifcopenshell files.  only: query; restricts the elements considered.
    Raises InputError where a file cannot be used.
    """
    settings = settings or ReadSettings()
    found = [_one(opened, index, settings, only) for index, opened in enumerate(open_models(paths, settings))]
    table = _together("elements", [f.elements for f in found])
    bodies = near(_together("obstacles", [f.obstacles for f in found]), table, settings.reading.obstacle_reach_mm)
    facts, twice = [f.facts for f in found], [names for f in found for names in f.twice]
    return ReadResult(table, bodies, facts, findings(table, twice, facts))


@dataclass(frozen=True)
class _Found:
    """One model.  twice: per element, names of property sets it has twice."""

    elements: Table
    obstacles: Table
    twice: list[tuple[str, ...]]
    facts: ModelFacts


def _one(opened: Opened, index: int, settings: ReadSettings, only: str | None) -> _Found:
    """One model: the elements considered here, all other bodies in a second process where the model is large."""
    source, placer = source_of(opened), Placer(opened.factor)
    links = read_links(source)
    beside = Beside([partial(_others, opened, source, links, settings, only)]) if opened.size > LARGE and opened.again and worth_it() else None
    read = read_elements(opened, index, source, placer, links, settings, only)
    facts = model_facts(opened, index, source, placer, read.listed.rows)
    seen = among(read) if beside else together(among(read), others(source, links, read.listed.rows))
    found = _Found(read.table, read_obstacles(opened, source, placer, seen), [a.twice for a in read.written], facts)
    del source, placer, links, read, seen  # the text and its columns go before the other process hands over
    return replace(found, obstacles=_by_number(_together("obstacles", [found.obstacles, *beside.wait()]))) if beside else found


def _together(name: str, parts: list[Table]) -> Table:
    """Rows of all; a copy only where there is something to put together."""
    some = [p for p in parts if p.n] or parts[:1]
    return some[0] if len(some) == 1 else concat(name, some)


def _by_number(table: Table) -> Table:
    step = table["step_id"]
    return table if (np.diff(step) >= 0).all() else table.take(np.argsort(step, kind="stable"))


def _others(opened: Opened, source: Source, links: Links, settings: ReadSettings, only: str | None) -> Table:
    """Bodies beyond the elements considered, with a file of its own: two processes must not read one."""
    own = replace(source, file=opened.again()) if opened.again else source
    include = queried(own.file, settings.selection.include, "[selection] include")
    taken = asked_for(own, links, settings, only, include)
    return read_obstacles(opened, own, Placer(opened.factor), others(own, links, taken))
