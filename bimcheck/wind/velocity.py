"""Peak velocity pressure, EN 1991-1-4:2005 section 4 (recommended values).

The standard's own units: m, m/s, kg/m3, Pa.  Everything is vectorised over heights.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bimcheck.core.errors import InputError
from bimcheck.core.units import Array
from bimcheck.wind.tables import number, rows

Z0_II = 0.05  # m, EN 1991-1-4 Table 4.1
RHO = 1.25  # kg/m3, recommended value of 4.5(1) Note 2
Z_MAX = 200.0  # m, EN 1991-1-4 1.1(2) and 4.3.2(1)


def terrain_roughness(terrain: str) -> tuple[float, float]:
    """Roughness length z0 and least height z_min of a terrain category, m (Table 4.1)."""
    for row in rows("en1991_1_4_terrain"):
        if row["terrain"] == terrain:
            return number(row, "z0_m", "terrain table"), number(row, "z_min_m", "terrain table")
    raise InputError(f"unknown terrain category '{terrain}'", "[wind] terrain", "use 0, I, II, III or IV, or give z0_m and z_min_m")


def probability_factor(p: float, K: float = 0.2, n: float = 0.5) -> float:
    """c_prob for an annual probability of exceedance p (4.2(2) (4.2))."""
    return float(((1 - K * np.log(-np.log(1 - p))) / (1 - K * np.log(-np.log(0.98)))) ** n)


def basic_velocity(v_b0: float, c_season: float = 1.0, c_alt: float = 1.0, c_prob: float = 1.0) -> float:
    """v_b in m/s for c_dir = 1 (4.2(2) (4.1)); pressures take c_dir^2, since they go with v_b^2."""
    return v_b0 * c_season * c_alt * c_prob


def terrain_factor(z0: ArrayLike) -> Array:
    """k_r (4.3.2(1) (4.5))."""
    return 0.19 * (np.asarray(z0, dtype=float) / Z0_II) ** 0.07


def roughness_factor(z: ArrayLike, z0: float, z_min: float) -> Array:
    """c_r(z), constant below z_min (4.3.2(1) (4.4))."""
    return terrain_factor(z0) * np.log(np.maximum(z, z_min) / z0)


def mean_velocity(z: ArrayLike, v_b: float, z0: float, z_min: float, c_o: float = 1.0) -> Array:
    """v_m(z) in m/s (4.3.1(1) (4.3))."""
    return roughness_factor(z, z0, z_min) * c_o * v_b


def turbulence_deviation(v_b: float, z0: float, k_I: float = 1.0) -> Array:
    """Standard deviation of the turbulence, sigma_v = k_r v_b k_I in m/s (4.4(1) (4.6))."""
    return terrain_factor(z0) * v_b * k_I


def turbulence_intensity(z: ArrayLike, z0: float, z_min: float, c_o: float = 1.0, k_I: float = 1.0) -> Array:
    """I_v(z), constant below z_min (4.4(1) (4.7))."""
    return k_I / (c_o * np.log(np.maximum(z, z_min) / z0))


def basic_pressure(v_b: float, rho: float = RHO) -> float:
    """q_b = rho v_b^2 / 2 in Pa (4.5(1) (4.10))."""
    return 0.5 * rho * v_b**2


def exposure_factor(z: ArrayLike, z0: float, z_min: float, c_o: float = 1.0, k_I: float = 1.0) -> Array:
    """c_e(z) = q_p / q_b (4.5(1) (4.8), (4.9))."""
    mean = roughness_factor(z, z0, z_min) * c_o
    return (1 + 7 * turbulence_intensity(z, z0, z_min, c_o, k_I)) * mean**2


def peak_pressure(
    z: ArrayLike, v_b: float, z0: float, z_min: float, *, rho: float = RHO, c_o: float = 1.0, k_I: float = 1.0
) -> Array:
    """q_p(z) = c_e(z) q_b in Pa (4.5(1) (4.8)); the standard goes to z = 200 m."""
    return exposure_factor(z, z0, z_min, c_o, k_I) * basic_pressure(v_b, rho)
