"""The worst net pressure of EN 1991-1-4 over the winds that meet a facade: along it from both ends, onto it, from behind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import Array
from bimcheck.wind import parapets, skins, walls
from bimcheck.wind.site import PARAPET, PLAIN, RETURN

NAMES = np.array(walls.ZONES, dtype=object)


@dataclass(frozen=True)
class Winds:
    """Per row (n,): breadth and depth for wind square to the facade and height (mm); peak pressures at h and z_e for
    c_dir = 1 (MPa); direction factors."""

    b: Array
    d: Array
    h: Array
    q_h: Array
    q_e: Array
    c_square: Array
    c_left: Array
    c_right: Array
    c_back: Array


@dataclass(frozen=True)
class Skin:
    """Per row (n,): wall case, length of the facade (mm), coefficients behind the panel, two-skin factors; and the
    parapet's height (mm) and returns."""

    case: NDArray[np.int64]
    length: Array
    rear_max: Array
    rear_min: Array
    k_suction: Array
    k_pressure: Array
    parapet_height: float
    parapet_returns: bool


@dataclass(frozen=True)
class Net:
    """Per row (n,): governing zone of the suction, external coefficients, direction factor of the suction, net pressures
    (MPa, suction <= 0 <= pressure)."""

    zone: NDArray
    c_suction: Array
    c_pressure: Array
    c_dir: Array
    suction: Array
    pressure: Array


def net_pressures(
    table: walls.WallCoefficients, winds: Winds, skin: Skin, left: Array, right: Array, area: Array, spread: Array | None
) -> Net:
    """Worst suction and pressure.

    left, right: (n,) distances of the loaded area's edges from the facade's ends, mm.  area: loaded area, m2.
    spread: widths over which zones are averaged by area, None for the worst zone touched.
    """
    zone, c_s, c2_s = _suction(table, winds, skin, left, right, area, spread)
    c_p = _pressure(table, walls.slenderness(winds.h, winds.d), area)
    q_p = winds.q_e * winds.c_square**2
    turned = skin.case == RETURN
    if turned.any():
        c_p, q_p = _return_pressure(table, winds, area, c_p, q_p, turned)
    suction, pressure = (
        walls.external_pressure(q, skins.net_coefficient(c, rear, skin.k_suction, skin.k_pressure))
        for q, c, rear in ((winds.q_h * c2_s, c_s, skin.rear_max), (q_p, c_p, skin.rear_min)))
    raised = skin.case == PARAPET
    if raised.any():
        free = parapets.net_coefficient(np.minimum(left, right), skin.length, skin.parapet_height, skin.parapet_returns)
        most = winds.q_h * free * np.maximum.reduce([winds.c_square, winds.c_back, winds.c_left, winds.c_right])**2
        c_s, c_p = np.where(raised, np.minimum(c_s, -free), c_s), np.where(raised, np.maximum(c_p, free), c_p)
        suction = np.where(raised, np.minimum(suction, -most), suction)
        pressure = np.where(raised, np.maximum(pressure, most), pressure)
    return Net(NAMES[zone], c_s, c_p, np.sqrt(c2_s), np.minimum(suction, 0.0), np.maximum(pressure, 0.0))


def _suction(
    table: walls.WallCoefficients, winds: Winds, skin: Skin, left: Array, right: Array, area: Array, spread: Array | None
) -> tuple[NDArray[np.int64], Array, Array]:
    """Zone, c_pe and c_dir^2 of the worst wind."""
    # For wind along the facade breadth and depth change places.
    e, along = walls.zone_scale(winds.d, winds.h), walls.slenderness(winds.h, winds.b)
    by_zone = [walls.wall_coefficient(table, zone, along, area) for zone in (walls.A, walls.B, walls.C)]
    lee = walls.wall_coefficient(table, walls.E, walls.slenderness(winds.h, winds.d), area)
    zones = np.stack([*(_zones(start, e, skin.case) for start in (left, right)), np.full(len(e), walls.E)])
    if spread is None:
        sides = [np.choose(zone, by_zone) for zone in zones[:2]]
    else:
        sides = [_mean(start, spread, e, by_zone, skin.case) for start in (left, right)]
    c_pe = np.stack([*sides, lee])
    c2 = np.stack([winds.c_left, winds.c_right, winds.c_back])**2
    worst = np.argmin(c2 * (c_pe - skin.rear_max), axis=0)
    rows = np.arange(len(e))
    return zones[worst, rows], c_pe[worst, rows], c2[worst, rows]


def _zones(start: Array, e: Array, case: NDArray[np.int64]) -> NDArray[np.int64]:
    """Re-entrant and courtyard faces, returns and reveals take zone A throughout."""
    return np.where((case == PLAIN) | (case == PARAPET), walls.side_zone(start, e), walls.A)


def _mean(start: Array, width: Array, e: Array, by_zone: list[Array], case: NDArray[np.int64]) -> Array:
    shares = walls.side_shares(start, width, e)
    mean = sum((share * c for share, c in zip(shares, by_zone, strict=True)), np.zeros(len(e)))
    return np.where((case == PLAIN) | (case == PARAPET), mean, by_zone[walls.A])


def _pressure(table: walls.WallCoefficients, h_over_d: Array, area: Array) -> Array:
    return walls.wall_coefficient(table, walls.D, h_over_d, area)


def _return_pressure(
    table: walls.WallCoefficients, winds: Winds, area: Array, c_p: Array, q_p: Array, turned: NDArray[np.bool_]
) -> tuple[Array, Array]:
    """A return belongs to the face round the corner too: breadth and depth change places, z_e is taken at h."""
    other = _pressure(table, walls.slenderness(winds.h, winds.b), area)
    q_other = winds.q_h * np.maximum(winds.c_left, winds.c_right)**2
    return np.where(turned, np.maximum(c_p, other), c_p), np.where(turned, np.maximum(q_p, q_other), q_p)
