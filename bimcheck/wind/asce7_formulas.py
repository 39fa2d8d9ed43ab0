"""Components and cladding of walls, ASCE 7-16 and 7-22 chapters 26 and 30, in the US units of the standard.

ft, ft2, mph, psf; everything is vectorised over rows.  Figures marked "from memory" in the tables beside this module were
not checked against the standard's text.  (SI constants of the same equations: 0.613 N/m2 with V in m/s.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.units import Array
from bimcheck.wind.tables import number, rows

Q_US, Q_SI = 0.00256, 0.613  # 26.10.2 (26.10-1): psf and mph; N/m2 and m/s
KE_FT, KE_M = 0.0000362, 0.000119  # Table 26.9-1 Note 2: exponents per foot and per metre of elevation
MIN_NET = 16.0  # psf, 30.2.2, strength level
ASD = 0.6  # 2.4.1
LOW_RISE = 60.0  # ft, 30.3 and 30.5 (7-22: 30.4)
FLAT_ROOF = 0.9  # Figure 30.3-1 note 5: walls below roofs of at most 10 degrees
K_D = 0.85  # Table 26.6-1, components and cladding
# Negative roof coefficients at 10 ft2 beside a parapet (30.9 case A; Figures 30.3-2A, 30.5-1), from memory.
ROOF_EDGE, ROOF_CORNER = -2.3, -3.2


@dataclass(frozen=True)
class Exposure:
    """Profile constants of an edition: K (z/z_g)^(2/alpha), held below z_least; K_d stands in q or in p."""

    alpha: float
    z_g: float
    K: float
    z_least: float
    K_d_in: str


def exposure_constants(edition: str, exposure: str) -> Exposure:
    """Row of the edition's table; edition "7-10", "7-16" or "7-22".  Raises InputError for others."""
    for r in rows("asce7_editions"):
        if (r["edition"], r["exposure"]) == (edition, exposure):
            alpha, z_g, K, least = (number(r, key, "table of editions") for key in ("alpha", "z_g_ft", "K", "z_least_ft"))
            return Exposure(alpha, z_g, K, least, r["K_d_in"])
    raise InputError(f"no exposure '{exposure}' in ASCE {edition}", "[wind] exposure", "use B, C or D")


def velocity_coefficient(z: ArrayLike, constants: Exposure) -> Array:
    """K_z or K_h at z ft (Table 26.10-1)."""
    height = np.minimum(np.maximum(z, constants.z_least), constants.z_g)
    return constants.K * (height / constants.z_g)**(2 / constants.alpha)


def elevation_factor(ground: float, per_length: float = KE_FT) -> float:
    """K_e for the ground's height above sea level (Table 26.9-1 Note 2); feet unless the exponent is per metre."""
    return float(np.exp(-per_length * ground))


def velocity_pressure(K_z: ArrayLike, V: float, K_zt: float = 1.0, K_d: float = 1.0, K_e: float = 1.0, constant: float = Q_US) -> Array:
    """q in psf (26.10.2); K_d is 1 here in 7-22, where it stands in the pressure."""
    return constant * np.asarray(K_z, dtype=float) * K_zt * K_d * K_e * V**2


@dataclass(frozen=True)
class Site:
    """Edition, exposure and factors of the wind; V in mph."""

    edition: str
    exposure: str
    V: float
    K_zt: float = 1.0
    K_d: float = K_D
    K_e: float = 1.0

    @property
    def constants(self) -> Exposure:
        return exposure_constants(self.edition, self.exposure)

    @property
    def K_d_in_p(self) -> float:
        """K_d where the edition puts it into the pressure (7-22), else 1."""
        return self.K_d if self.constants.K_d_in == "p" else 1.0

    def q(self, z: ArrayLike) -> Array:
        """Velocity pressure at z ft in psf."""
        K_d = self.K_d if self.constants.K_d_in == "q" else 1.0
        return velocity_pressure(velocity_coefficient(z, self.constants), self.V, self.K_zt, K_d, self.K_e)

    def pressures(self, h: ArrayLike, z: ArrayLike) -> tuple[Array, Array]:
        """q_h and the q of positive pressure: q_h up to h = 60 ft, above at z (30.3.2, 30.5.2)."""
        q_h = self.q(h)
        return q_h, np.where(np.asarray(h) <= LOW_RISE, q_h, self.q(np.minimum(z, h)))


def wall_coefficient(height: str, case: str, area: ArrayLike) -> Array:
    """(GC_p) of walls: height "low" (h <= 60 ft) or "high", case "+", "4" or "5"; logarithmic in the area (ft2)."""
    r = next(r for r in rows("asce7_walls") if (r["height"], r["case"]) == (height, case))
    A0, G0, A1, G1 = (number(r, key, "table of walls") for key in ("area_small_ft2", "GCp_small", "area_large_ft2", "GCp_large"))
    share = np.log10(np.clip(area, A0, A1) / A0) / np.log10(A1 / A0)
    return G0 + (G1 - G0) * share


def coefficient(h: ArrayLike, case: str, area: ArrayLike, roof_factor: float = 1.0) -> Array:
    """(GC_p) by height: up to 60 ft of the one figure, with 0.9 below flat roofs, above of the other."""
    low = np.asarray(h) <= LOW_RISE
    return np.where(low, roof_factor * wall_coefficient("low", case, area), wall_coefficient("high", case, area))


def internal_coefficient(enclosure: str) -> float:
    """(GC_pi), both signs (Table 26.13-1)."""
    for r in rows("asce7_enclosure"):
        if r["enclosure"] == enclosure:
            return number(r, "GCpi", "table of enclosures")
    raise InputError(f"unknown enclosure '{enclosure}'", "[wind] enclosure", "use enclosed, partially enclosed, partially open or open")


def zone_width(height: ArrayLike, least: ArrayLike) -> Array:
    """a in ft (Figures 30.3-1, 30.5-1): 10 % of the least width, up to 60 ft at most 0.4 h and at least 4 %; at least 3 ft."""
    h, least = np.asarray(height, dtype=float), np.asarray(least, dtype=float)
    low = np.maximum(np.minimum(0.1 * least, 0.4 * h), 0.04 * least)
    return np.maximum(np.where(h <= LOW_RISE, low, 0.1 * least), 3.0)


def effective_area(span: ArrayLike, width: ArrayLike) -> Array:
    """Effective wind area in ft2: span times its width, which need not be less than a third of the span (26.2)."""
    span = np.asarray(span, dtype=float)
    return span * np.maximum(width, span / 3)


def net_pressure(q: ArrayLike, q_i: ArrayLike, GC_p: ArrayLike, GC_pi: ArrayLike, K_d: ArrayLike = 1.0) -> Array:
    """p = q (GC_p) - q_i (GC_pi) with the sign of GC_pi that adds to GC_p, at least 16 psf (30.2.2, 30.3.2, 30.5.2).

    K_d: 1 where it stands in q already (7-16), the factor in 7-22.
    """
    q, q_i, GC_p, GC_pi, K_d = (np.asarray(a, dtype=float) for a in (q, q_i, GC_p, GC_pi, K_d))
    sign = np.where(GC_p < 0, -1.0, 1.0)
    return sign * np.maximum(K_d * (np.abs(q * GC_p) + q_i * GC_pi), MIN_NET)


def allowable(p: ArrayLike, share: float = ASD) -> Array:
    """Pressure for allowable stress design (2.4.1): 0.6 of the strength level, the 16 psf minimum included."""
    return share * np.asarray(p, dtype=float)


def worst_zone(distance: ArrayLike, a: ArrayLike) -> NDArray[np.bool_]:
    """Whether what begins at this distance from an external corner touches zone 5."""
    return np.asarray(distance) < np.asarray(a) * (1 - 1e-6)
