"""Vertical walls, EN 1991-1-4:2005 7.2: zones, windward strips and external coefficients.

Lengths in any one unit (zones, strips); areas in m2, as in the standard.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.units import Array
from bimcheck.wind.tables import number, rows

ZONES = ("A", "B", "C", "D", "E")
A, B, C, D, E = range(5)
H_OVER_D_MAX = 5.0  # Table 7.1; above it 7.2.2(2) Note: values of 7.6 to 7.8 may be used
TOUCH = 1e-6  # share of a zone's width below which a panel only touches it


def zone_scale(b: ArrayLike, h: ArrayLike) -> Array:
    """e = min(b, 2 h) with b the crosswind breadth (Figure 7.5)."""
    return np.minimum(np.asarray(b, dtype=float), 2 * np.asarray(h, dtype=float))


def slenderness(h: ArrayLike, d: ArrayLike) -> Array:
    """h/d with d the depth along the wind (Table 7.1)."""
    return np.asarray(h, dtype=float) / np.asarray(d, dtype=float)


def zone_widths(e: ArrayLike, d: ArrayLike) -> tuple[Array, Array, Array]:
    """Widths of A, B, C along a side wall of depth d (Figure 7.5): e < d, d <= e < 5 d, e >= 5 d."""
    e, d = np.asarray(e, dtype=float), np.asarray(d, dtype=float)
    first, second = np.minimum(e / 5, d), np.minimum(e, d)
    return first, second - first, d - second


def side_zone(s: ArrayLike, e: ArrayLike) -> NDArray[np.int64]:
    """Worst side-wall zone of what begins at distance s from the windward edge (zones rise towards it)."""
    s, e = np.asarray(s, dtype=float), np.asarray(e, dtype=float)
    return np.where(s < e / 5 * (1 - TOUCH), A, np.where(s < e * (1 - TOUCH), B, C))


def side_shares(s: ArrayLike, width: ArrayLike, e: ArrayLike) -> tuple[Array, Array, Array]:
    """Shares of a panel's width in A, B, C; s: distance of its windward edge from the wall's windward edge."""
    s, width, e = (np.asarray(a, dtype=float) for a in (s, width, e))
    to_A, to_B = (np.clip((edge - s) / width, 0.0, 1.0) for edge in (e / 5, e))
    return to_A, to_B - to_A, 1.0 - to_B


def reference_height(z: ArrayLike, b: ArrayLike, h: ArrayLike, strip: float) -> Array:
    """Reference height z_e of the windward wall for what reaches up to z (7.2.2(1), Figure 7.4).

    h <= b: one part, z_e = h.  b < h <= 2 b: up to b with z_e = b, above z_e = h.  h > 2 b: up to b, the top b, and
    strips of the given height between, each with z_e = its top.
    """
    z, b, h = np.broadcast_arrays(*(np.asarray(a, dtype=float) for a in (z, b, h)))
    slack = TOUCH * h
    count = np.maximum(np.ceil((z - b - slack) / strip), 1.0)
    between = np.minimum(b + count * strip, h - b)
    upper = np.where((h > 2 * b) & (z <= h - b + slack), between, h)
    return np.where(h <= b, h, np.where(z <= b + slack, b, upper))


def windward_strips(b: float, h: float, strip: float) -> list[list[float]]:
    """The parts of the windward wall: [from, to, z_e], from below (Figure 7.4)."""
    parts: list[list[float]] = []
    z = 0.0
    while z < h:
        top = float(reference_height(z * (1 + 4 * TOUCH) + 4 * TOUCH * h, b, h, strip))
        parts.append([z, top, top])
        z = top
    return parts


@dataclass(frozen=True)
class WallCoefficients:
    """c_pe,10 and c_pe,1 by zone (A to E) and h/d; h_over_d: (k,) rising; cpe_10, cpe_1: (5, k)."""

    h_over_d: Array
    cpe_10: Array
    cpe_1: Array


def coefficients(name: str = "en1991_1_4_walls") -> WallCoefficients:
    """The table of this package, or a national one by its path (columns zone, h_over_d, cpe_10, cpe_1)."""
    found = {(r.get("zone", ""), number(r, "h_over_d", name)): r for r in rows(name)}
    steps = sorted({step for _, step in found})
    missing = [f"{zone} at h/d {step:g}" for zone in ZONES for step in steps if (zone, step) not in found]
    if missing or not steps:
        raise InputError(f"the wall table has no row for {', '.join(missing) or 'any zone'}", name, "give every zone at every h/d")
    both = [np.array([[number(found[zone, step], key, name) for step in steps] for zone in ZONES]) for key in ("cpe_10", "cpe_1")]
    return WallCoefficients(np.array(steps), *both)


def wall_coefficient(table: WallCoefficients, zone: int, h_over_d: ArrayLike, area: ArrayLike) -> Array:
    """c_pe of one zone (Table 7.1, Figure 7.2): linear in h/d and held beyond the table; c_pe,1 up to 1 m2, c_pe,10 from
    10 m2, logarithmic between.  area: loaded area in m2."""
    ten, one = (np.interp(np.asarray(h_over_d, dtype=float), table.h_over_d, values[zone]) for values in (table.cpe_10, table.cpe_1))
    return one - (one - ten) * np.log10(np.clip(area, 1.0, 10.0))


def external_pressure(q_p: ArrayLike, c_pe: ArrayLike) -> Array:
    """w_e = q_p(z_e) c_pe (5.2(1) (5.1)), in the unit of q_p."""
    return np.asarray(q_p, dtype=float) * np.asarray(c_pe, dtype=float)
