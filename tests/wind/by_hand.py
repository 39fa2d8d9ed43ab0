"""An independent calculation of wall pressures from a building's stated dimensions: plain Python, no import of bimcheck.

EN 1991-1-4:2005 4.3 to 4.5, Table 7.1, Figures 7.2, 7.4, 7.5; ASCE 7-16 26.10, 26.11, Figures 30.3-1, 30.5-1.  Lengths in m,
pressures in Pa; ASCE in ft, mph, psf.
"""

from __future__ import annotations

import math

ROUGHNESS = {"0": (0.003, 1), "I": (0.01, 1), "II": (0.05, 2), "III": (0.3, 5), "IV": (1.0, 10)}  # Table 4.1
TABLE_7_1 = {  # zone: h/d -> (cpe,10, cpe,1)
    "A": {0.25: (-1.2, -1.4), 1: (-1.2, -1.4), 5: (-1.2, -1.4)}, "B": {0.25: (-0.8, -1.1), 1: (-0.8, -1.1), 5: (-0.8, -1.1)},
    "C": {0.25: (-0.5, -0.5), 1: (-0.5, -0.5), 5: (-0.5, -0.5)}, "D": {0.25: (0.7, 1.0), 1: (0.8, 1.0), 5: (0.8, 1.0)},
    "E": {0.25: (-0.3, -0.3), 1: (-0.5, -0.5), 5: (-0.7, -0.7)}}


def q_p(z: float, v_b: float, terrain: str) -> float:
    z0, z_min = ROUGHNESS[terrain]
    log = math.log(max(z, z_min) / z0)
    v_m = 0.19 * (z0 / 0.05)**0.07 * log * v_b
    return (1 + 7 / log) * 0.5 * 1.25 * v_m**2


def c_pe(zone: str, h_over_d: float, area: float) -> float:
    row = TABLE_7_1[zone]
    lower = max([s for s in row if s <= h_over_d], default=0.25)
    upper = min([s for s in row if s >= h_over_d], default=5)
    t = 0.0 if upper == lower else (h_over_d - lower) / (upper - lower)
    ten, one = (row[lower][i] + t * (row[upper][i] - row[lower][i]) for i in (0, 1))
    if area <= 1:
        return one
    return ten if area >= 10 else one + (ten - one) * math.log10(area)


def side_zone(s: float, b: float, d: float, h: float) -> str:
    """Zone at distance s from the windward edge, wind along the wall: b across the wind, d along it."""
    e = min(b, 2 * h)
    if e >= 5 * d or s < e / 5 - 1e-9:
        return "A"
    return "B" if e >= d or s < e - 1e-9 else "C"


def z_e(z_top: float, b: float, h: float, strip: float = 5.0) -> float:
    if h <= b:
        return h
    if z_top <= b + 1e-4:
        return b
    if h <= 2 * b or z_top > h - b + 1e-4:
        return h
    edge = b
    while edge < z_top - 1e-4:
        edge += strip
    return min(edge, h - b)


def en_wall(
    s_left: float, s_right: float, z_top: float, area: float, b: float, d: float, h: float, v_b: float, terrain: str, worst: bool = False
) -> tuple[str, float, float]:
    """Zone, suction and pressure in Pa; b, d for wind square to the wall; worst: a re-entrant face, zone A throughout."""
    # For wind along the wall, breadth and depth change places.
    options = [(c_pe(zone, h / b, area), zone) for zone in ("A" if worst else side_zone(s, d, b, h) for s in (s_left, s_right))]
    options.append((c_pe("E", h / d, area), "E"))
    suction, zone = min(options, key=lambda o: o[0])
    return zone, suction * q_p(h, v_b, terrain), c_pe("D", h / d, area) * q_p(z_e(z_top, b, h), v_b, terrain)


EXPOSURE_7_16 = {"B": (7.0, 1200.0), "C": (9.5, 900.0), "D": (11.5, 700.0)}  # Table 26.11-1


def q_16(z: float, V: float, exposure: str) -> float:
    alpha, z_g = EXPOSURE_7_16[exposure]
    return 0.00256 * 2.01 * (max(z, 15.0) / z_g)**(2 / alpha) * 0.85 * V**2


def asce_wall(
    distance: float, z_top: float, area: float, least: float, h: float, V: float, exposure: str, worst: bool = False
) -> tuple[str, float, float]:
    """Zone, suction and pressure in psf, ASCE 7-16, enclosed, from the log formulas of the figures (from memory)."""
    low = h <= 60
    a = max(min(0.1 * least, 0.4 * h), 0.04 * least, 3) if low else max(0.1 * least, 3)
    zone = "5" if worst or distance < a - 1e-9 else "4"
    log = math.log10(min(max(area, 10 if low else 20), 500))
    if low:
        out = -1.2766 + 0.1766 * log if zone == "4" else -1.7532 + 0.3532 * log
        into = 1.1766 - 0.1766 * log
    else:
        out = -1.0861 + 0.1431 * log if zone == "4" else -2.5445 + 0.5723 * log
        into = 1.1792 - 0.2146 * log
    q_h = q_16(h, V, exposure)
    q_z = q_h if low else q_16(min(z_top, h), V, exposure)
    return zone, min(out * q_h - 0.18 * q_h, -16.0), max(into * q_z + 0.18 * q_h, 16.0)
