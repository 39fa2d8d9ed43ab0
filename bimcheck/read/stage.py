"""read: models in, tables of elements and obstacles, fact sheets and issues out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck.core.beside import Beside, worth_it
from bimcheck.core.tables import Table, concat
from bimcheck.read.attributes import Attributes
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
    elements: list[Table] = []
    obstacles: list[Table] = []
    facts: list[ModelFacts] = []
    written: list[Attributes] = []
    for index, opened in enumerate(open_models(paths, settings)):
        own, about = _one(opened, index, settings, only)
        elements.append(own[0])
        obstacles.append(own[1])
        written += own[2]
        facts.append(about)
    table = concat("elements", elements)
    bodies = near(concat("obstacles", obstacles), table, settings.reading.obstacle_reach_mm)
    return ReadResult(table, bodies, facts, findings(table, written, facts))


def _one(opened: Opened, index: int, settings: ReadSettings, only: str | None) -> tuple[tuple[Table, Table, list[Attributes]], ModelFacts]:
    """One model: the elements considered here, all other bodies in a second process where the model is large."""
    source, placer = source_of(opened), Placer(opened.factor)
    opened = replace(opened, data=b"")
    links = read_links(source)
    beside = Beside([partial(_others, opened, source, links, settings, only)]) if opened.size > LARGE and opened.again and worth_it() else None
    read = read_elements(opened, index, source, placer, links, settings, only)
    if beside is None:
        obstacles = read_obstacles(opened, source, placer, together(among(read), others(source, links, read.listed.rows)))
    else:
        obstacles = concat("obstacles", [read_obstacles(opened, source, placer, among(read)), *beside.wait()])
        obstacles = obstacles.take(np.argsort(obstacles["step_id"], kind="stable"))
    return (read.table, obstacles, read.written), model_facts(opened, index, source, placer, read.listed.rows)


def _others(opened: Opened, source: Source, links: Links, settings: ReadSettings, only: str | None) -> Table:
    """Bodies beyond the elements considered, with a file of its own: two processes must not read one."""
    own = replace(source, file=opened.again()) if opened.again else source
    include = queried(own.file, settings.selection.include, "[selection] include")
    taken = asked_for(own, links, settings, only, include)
    return read_obstacles(opened, own, Placer(opened.factor), others(own, links, taken))
