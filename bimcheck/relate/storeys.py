"""The storey of elements that no file assigns to one: by the storeys' heights, else by levels of the building itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.relate.facts import Floats, Ints, Storey

LEAST = 2400.0  # mm; floors are no closer than this
APART = 100.0  # mm; storeys whose heights differ by less state none


@dataclass(frozen=True)
class Levels:
    """Storeys as stated; floors: world heights of floors seen in the models, used where the files state no heights: such
    a level is named by its height above ground."""

    storeys: tuple[Storey, ...]
    floors: Floats
    ground: float


def by_height(known: np.ndarray, model: Ints, z: Floats, levels: Levels) -> np.ndarray:
    """Fill the blanks of `known`; z: (n,) height of the centre, world."""
    storeys = levels.storeys
    out = known.astype(object).copy()
    blank = (out == "") & np.isfinite(z)
    every = _usable(storeys)
    for m in np.unique(model[blank]):
        rows = np.flatnonzero(blank & (model == m))
        own = _usable(tuple(s for s in storeys if s.model_index == m)) or every
        out[rows] = _names(z[rows], own) if own else _levels(z[rows], levels.floors, levels.ground)
    return out


def _usable(storeys: tuple[Storey, ...]) -> list[tuple[float, str]]:
    """Storeys in order of height; none where all state the same height."""
    listed = sorted({(s.elevation, s.name) for s in storeys if np.isfinite(s.elevation)})
    return listed if listed and listed[-1][0] - listed[0][0] > APART else []


def _names(z: Floats, storeys: list[tuple[float, str]]) -> np.ndarray:
    heights = np.array([s[0] for s in storeys])
    return np.array([s[1] for s in storeys], dtype=object)[np.maximum(np.searchsorted(heights, z, side="right") - 1, 0)]


def _levels(z: Floats, floors: Floats, ground: float) -> np.ndarray:
    if not len(floors):
        return np.full(len(z), "", dtype=object)
    return _names(z, [(f, f"{(f - ground) / 1000:+.2f} m") for f in floors])


def floors_of(slab_tops: Floats, bottoms: Floats) -> Floats:
    """Heights of floors: tops of slabs, else the lower edges of panels that lie at least a storey apart."""
    found: list[float] = []
    for height in np.sort(slab_tops if len(slab_tops) else bottoms):
        if not found or height - found[-1] >= LEAST:
            found.append(float(height))
    return np.array(found)


def lots(material: np.ndarray, thickness: Floats) -> np.ndarray:
    """Lot for thickness compensation where no list states one: material and nominal thickness."""
    return np.array([f"{m or 'no material'} {t:.1f} mm" for m, t in zip(material, thickness, strict=True)], dtype=object)
