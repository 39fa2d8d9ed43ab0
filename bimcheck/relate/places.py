"""Where a panel sits: field, or one of the places that zones of plain walls do not cover."""

from __future__ import annotations

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.relate.envelope import Envelope
from bimcheck.relate.facts import Floats
from bimcheck.relate.settings import Relate
from bimcheck.relate.skin import COURTYARD, RECESS

LEANS = 5.0  # degrees; below it a wall is upright
NEAR = 1000.0  # mm above or below a level panel within which bodies tell its hidden side


def is_level(n: Floats, settings: Relate) -> np.ndarray:
    return np.abs(n[:, 2]) >= np.sin(np.radians(settings.soffit_deg))


def level_side(some: Table, obstacles: Table) -> Floats:
    """Sign on raw n of the weather side of level panels: away from what is fixed above or below; a soffit otherwise,
    unless it lies at the very top."""
    down = np.where(some["raw_n"][:, 2] > 0, -1.0, 1.0)
    z = some["raw_origin"][:, 2]
    highest = z.max(initial=-np.inf)
    top = z > highest - 50.0
    if not obstacles.n:
        return np.where(top, -down, down)
    box = obstacles["box"][np.isin(obstacles["role"], ("slab", "rail", "bracket", "member", "wall"))]
    at = some["raw_origin"]
    out = np.where(top, -down, down)
    for r in np.flatnonzero(np.abs(some["raw_n"][:, 2]) > 0.5):
        over = (box[:, 0] < at[r, 0] + NEAR) & (box[:, 3] > at[r, 0] - NEAR) & \
               (box[:, 1] < at[r, 1] + NEAR) & (box[:, 4] > at[r, 1] - NEAR)
        gap = (box[over, 2] + box[over, 5]) / 2 - at[r, 2]
        vote = np.sign(gap[np.abs(gap) < NEAR]).sum()
        out[r] = out[r] if vote == 0 else vote * down[r]
    return out


def places(some: Table, obstacles: Table, skin: Envelope, settings: Relate) -> np.ndarray:
    """Place of every row; the last that holds wins."""
    inner = np.append(skin.kind, "")[skin.facade]
    place = np.where((inner == RECESS) | (inner == COURTYARD), "recess", "field").astype(object)
    place[_short(skin, settings)] = "corner-return"
    square = ~skin.in_plane & (np.abs(some["tilt"]) <= LEANS)
    place[square] = np.where(_at_end(some, settings)[square], "corner-return", "reveal")
    place[_parapet(some, obstacles, settings)] = "parapet"
    place[np.abs(some["tilt"]) > settings.inclined_deg] = "inclined"
    place[some["tilt"] <= -settings.soffit_deg] = "soffit"
    place[some["form"] == "folded"] = "folded"
    return place


def _short(skin: Envelope, settings: Relate) -> np.ndarray:
    """Rows of facades that are no longer than a return."""
    length = skin.ends.position[:, 1] - skin.ends.position[:, 0]
    return (skin.facade >= 0) & (np.append(length, np.inf)[skin.facade] < settings.return_mm)


def _at_end(some: Table, settings: Relate) -> np.ndarray:
    """Rows at an end of the facade they are attached to: they turn its corner."""
    return np.minimum(some["s_left"], some["s_right"]) < settings.return_mm / 2


def _parapet(some: Table, obstacles: Table, settings: Relate) -> np.ndarray:
    """Above the highest slab, where the skin ends not much higher: a storey on top of the slab is no parapet."""
    slabs = obstacles["box"][obstacles["role"] == "slab", 5] if obstacles.n else np.zeros(0)
    if not len(slabs) or not some.n:
        return np.zeros(some.n, dtype=bool)
    # `some` counts heights from the ground, bodies do not: bring both to the bodies' own.
    over = some["origin"][0, 2] + some["v"][0, 2] * some["height"][0] / 2 - some["z"][0]
    roof = slabs.max() - over
    return (some["z_bottom"] > roof - 100.0) & (some["z_top"].max() - roof <= settings.parapet_mm)
