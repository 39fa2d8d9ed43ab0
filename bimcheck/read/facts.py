"""What a file says about itself: storeys, ground, north, map conversion, grids, counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read import words
from bimcheck.read.axes import ends_of
from bimcheck.read.model import Opened
from bimcheck.read.place import Placer
from bimcheck.read.source import Source

Ints = NDArray[np.int64]
NAN = float("nan")
GROUND = ("ground*", "erdgeschoss*", "eg", "rez-de-chaussee", "rdc", "rez*", "piano terra", "planta baja", "begane grond", "terreo",
          "parter", "street level", "level 0", "level 00", "niveau 0", "ebene 0", "nivel 0", "livello 0", "storey 0", "00", "e0", "gf", "l0", "l00")
NOT_GROUND = ("lower*", "below*", "under*", "basement*", "keller*", "unter*", "sous-sol", "foundation*", "upper*")


@dataclass(frozen=True)
class Storey:
    """A storey as its file states it; elevation: world z of its placement, mm."""

    model_index: int
    name: str
    elevation: float
    guid: str


@dataclass(frozen=True)
class GridAxis:
    """A straight grid axis, plan, world, mm."""

    tag: str
    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True)
class ModelFacts:
    """One input file.  Heights in mm, world; nan = not stated.  Map conversion and north as the file states them."""

    opened: Opened
    model_index: int
    project_guid: str
    owner_history: int
    storeys: tuple[Storey, ...]
    site: float = NAN
    building: float = NAN
    ref_elevation: float = NAN
    terrain: float = NAN
    ground_storey: float = NAN
    true_north: tuple[float, ...] = ()
    map_conversion: Mapping[str, float] = field(default_factory=dict)
    grid: tuple[GridAxis, ...] = ()
    other_counts: Mapping[str, int] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return self.opened.name


def model_facts(opened: Opened, index: int, source: Source, placer: Placer, taken: Ints) -> ModelFacts:
    file = opened.file
    sites, buildings = file.by_type("IfcSite"), file.by_type("IfcBuilding")
    storeys = tuple(Storey(index, str(s[2] or ""), _height(s, placer), str(s[0])) for s in file.by_type("IfcBuildingStorey"))
    owner = file.by_type("IfcOwnerHistory")
    return ModelFacts(
        opened, index, str(file.by_type("IfcProject")[0][0]), owner[0].id() if owner else 0, storeys,
        _height(sites[0], placer) if sites else NAN, _height(buildings[0], placer) if buildings else NAN,
        _stated(sites, "RefElevation", placer), _terrain(buildings, sites, placer), _ground(storeys),
        _north(file), _conversion(file), _grid(file, placer), _others(source, taken))


def _height(element: Any, placer: Placer) -> float:
    return float(placer.world(element[5])[2, 3]) if element[5] is not None else NAN


def _stated(elements: list[Any], attribute: str, placer: Placer) -> float:
    values = [getattr(e, attribute, None) for e in elements]
    return next((float(v) * placer.factor for v in values if v is not None), NAN)


def _terrain(buildings: list[Any], sites: list[Any], placer: Placer) -> float:
    """World z of ElevationOfTerrain: it counts from sea level, as does the reference height of the placement's zero."""
    terrain = _stated(buildings, "ElevationOfTerrain", placer)
    if not np.isfinite(terrain):
        return NAN
    zero = [_stated(buildings, "ElevationOfRefHeight", placer), _stated(sites, "RefElevation", placer), 0.0]
    base = [_height(b, placer) for b in buildings]
    return terrain - next(z for z in zero if np.isfinite(z)) + next((z for z in base if np.isfinite(z)), 0.0)


def _ground(storeys: tuple[Storey, ...]) -> float:
    names = [words.plain(s.name) for s in storeys]
    named = [s.elevation for s, name in zip(storeys, names, strict=True) if words.has(name, GROUND) and not words.has(name, NOT_GROUND)]
    return min(named) if named else NAN


def _north(file: Any) -> tuple[float, ...]:
    contexts = [c for c in file.by_type("IfcGeometricRepresentationContext", include_subtypes=False) if c.ContextType in ("Model", None)]
    for context in contexts or file.by_type("IfcGeometricRepresentationContext", include_subtypes=False):
        if context.TrueNorth is not None:
            return tuple(float(x) for x in context.TrueNorth[0] or ())
    return ()


def _conversion(file: Any) -> dict[str, float]:
    """IfcMapConversion, or its IFC2X3 stand-in as a property set of the project or site (ePSet_MapConversion)."""
    if file.schema == "IFC2X3":
        return {}
    for conversion in file.by_type("IfcMapConversion"):
        info = {n: getattr(conversion, n, None) for n in ("Eastings", "Northings", "OrthogonalHeight", "XAxisAbscissa", "XAxisOrdinate", "Scale")}
        return {n: float(v) for n, v in info.items() if v is not None}
    return {}


def _grid(file: Any, placer: Placer) -> tuple[GridAxis, ...]:
    """Straight axes of all grids."""
    out = []
    for grid in file.by_type("IfcGrid"):
        matrix = placer.world(grid[5]) if grid[5] is not None else np.eye(4)
        for axis in (a for axes in (grid.UAxes, grid.VAxes, grid.WAxes) for a in axes or ()):
            points = ends_of(axis.AxisCurve)
            if not points:
                continue
            ends = [matrix @ np.array([*(np.array((*p, 0.0)[:3]) * placer.factor), 1.0]) for p in points]
            out.append(GridAxis(str(axis.AxisTag or ""), (ends[0][0], ends[0][1]), (ends[1][0], ends[1][1])))
    return tuple(out)


def _others(source: Source, taken: Ints) -> dict[str, int]:
    rows = source.of_class("IfcElement")
    return dict(sorted(Counter(source.classes(rows[~np.isin(rows, taken)])).items()))
