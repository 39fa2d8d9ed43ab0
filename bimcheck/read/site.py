"""What the files say about storeys and ground; heights in mm, world."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.read.body_rows import heights
from bimcheck.read.model import Opened
from bimcheck.read.lexicon import is_ground

NAN = float("nan")


@dataclass(frozen=True)
class StoreyFact:
    """elevation: height of the storey's placement, not the attribute, which many files leave at 0."""

    model_index: int
    name: str
    elevation: float


@dataclass(frozen=True)
class Site:
    """nan where nothing is stated; of several models the first that states it."""

    storeys: tuple[StoreyFact, ...]
    ground_setting: float
    terrain: float
    ground_storey: float
    building: float


def read_site(models: Sequence[Opened], ground_m: float | None) -> Site:
    each = [_of_model(i, m) for i, m in enumerate(models)]
    storeys = tuple(s for e in each for s in e.storeys)
    return Site(storeys, NAN if ground_m is None else ground_m * 1000.0, _first(e.terrain for e in each),
                _first(e.ground_storey for e in each), _first(e.building for e in each))


def _first(values: Any) -> float:
    return next((v for v in values if not np.isnan(v)), NAN)


def _of_model(index: int, model: Opened) -> Site:
    file = model.file
    storeys = [StoreyFact(index, str(s[2] or s[7] or ""), z) for s, z in _heights(model, file.by_type("IfcBuildingStorey"))]
    storeys.sort(key=lambda s: s.elevation)
    buildings = _heights(model, file.by_type("IfcBuilding")) or _heights(model, file.by_type("IfcSite"))
    base = buildings[0][1] if buildings else NAN
    ground = ground_storey(storeys, base)
    return Site(tuple(storeys), NAN, _terrain(file, model.factor, base, ground), ground, base)


def _heights(model: Opened, elements: Sequence[Any]) -> list[tuple[Any, float]]:
    placed = [e for e in elements if e.ObjectPlacement is not None]
    if not placed:
        return []
    return list(zip(placed, heights(placed, model.factor).tolist(), strict=True))


def ground_storey(storeys: Sequence[StoreyFact], base: float) -> float:
    """Height of the storey called the ground floor, else of the storey nearest to the building's own zero."""
    named = [s.elevation for s in storeys if is_ground(s.name)]
    if named:
        return min(named)
    zero = 0.0 if np.isnan(base) else base
    return min((s.elevation for s in storeys), key=lambda z: abs(z - zero), default=NAN)


def _terrain(file: Any, factor: float, base: float, ground: float) -> float:
    """World height of IfcBuilding.ElevationOfTerrain.

    It is measured above sea level, as is ElevationOfRefHeight of the building's zero.  Where only the terrain is stated,
    exporters mean either the model's zero or the building's: the one nearer to the ground floor is taken.
    """
    for building in file.by_type("IfcBuilding"):
        terrain, reference = building.ElevationOfTerrain, building.ElevationOfRefHeight
        if terrain is None:
            continue
        zero = 0.0 if np.isnan(base) else base
        if reference is not None:
            return zero + (terrain - reference) * factor
        near = zero if np.isnan(ground) else ground
        return min((terrain * factor, zero + terrain * factor), key=lambda z: abs(z - near))
    return NAN
