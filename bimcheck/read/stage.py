"""read: models in, tables of elements and obstacles, fact sheets and issues out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from bimcheck.core.tables import Table, concat
from bimcheck.read.attributes import Attributes
from bimcheck.read.elements import read_elements
from bimcheck.read.facts import ModelFacts, model_facts
from bimcheck.read.findings import findings
from bimcheck.read.links import read_links
from bimcheck.read.model import Opened, open_models
from bimcheck.read.obstacles import near, read_obstacles
from bimcheck.read.place import Placer
from bimcheck.read.result import ReadResult
from bimcheck.read.settings import ReadSettings


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
    placer, links = Placer(opened.factor), read_links(opened.file)
    read = read_elements(opened, index, placer, links, settings, only)
    obstacles = read_obstacles(opened, placer, links, read)
    return (read.table, obstacles, read.written), model_facts(opened, index, placer, read.ids)
