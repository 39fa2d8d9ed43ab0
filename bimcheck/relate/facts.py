"""What relate is told about the site, and what it hands back."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from numpy.typing import NDArray

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table

Floats = NDArray[Any]  # of float64
Ints = NDArray[Any]  # of int64
NAN = float("nan")


@dataclass(frozen=True)
class Storey:
    """A storey as its file states it; elevation: height of its placement in world coordinates, mm."""

    model_index: int
    name: str
    elevation: float


@dataclass(frozen=True)
class SiteFacts:
    """What the files and the project file say about storeys and ground; heights in mm, world; nan = not stated.

    ground_setting: the project file's ground.  terrain: the building's terrain elevation.  ground_storey: placement of
    the storey that the file calls its ground floor.  building: placement of the building (or of the site).
    """

    storeys: tuple[Storey, ...] = ()
    ground_setting: float = NAN
    terrain: float = NAN
    ground_storey: float = NAN
    building: float = NAN


@dataclass(frozen=True)
class Building:
    """The building as wind needs it; mm.

    ground: height of the ground, world z; ground_source: "setting", "terrain elevation", "ground storey",
    "building placement" or "lowest panel".  rings: plan outlines (k, 2), world, outer ones counter-clockwise, courtyards
    clockwise.  ring_source: "panels", "structure" (closed along slab edges) or "open".  known: ring closed, ground stated.
    """

    h: float
    ground: float
    ground_source: str
    rings: tuple[Floats, ...]
    ring_source: str
    known: bool
    least_plan: float

    @property
    def closed(self) -> bool:
        return self.ring_source != "open"


@dataclass(frozen=True)
class Related:
    """The tables of relate.

    elements: input with the relate columns.  joints: panel and other are rows of elements.  behind: panel (row of
    elements), obstacle (row), box x0, y0, x1, y1 in the panel frame, near and far mm behind the rear face.
    """

    elements: Table
    facades: Table
    joints: Table
    behind: Table
    shapes: Table
    building: Building
    issues: list[Issue] = field(default_factory=list)


def table_of(name: str, **columns: Any) -> Table:
    """A table whose length is that of its first column."""
    return Table(name, len(next(iter(columns.values()))), columns)
