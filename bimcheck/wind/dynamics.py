"""Whether a panel is stiff enough for c_s c_d = 1 (EN 1991-1-4:2005 6.2(1)b): its first frequency."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import G0, Array, MPa, kg_m3, mm, mm4, ratio

F_MIN = 5.0  # Hz, EN 1991-1-4 6.2(1)b (from memory)
G = G0 * 1e3  # mm/s2


def frequency(deflection: Array) -> Array:
    """First frequency in Hz from the greatest deflection (mm) under the panel's own weight acting square to its face.

    Rayleigh's quotient with the static shape; with the greatest deflection everywhere it errs to the low side.
    """
    return np.sqrt(G / deflection) / (2 * np.pi)


@rule("candidates", adds=[Column("f_1", "Hz", "first frequency of the panel on its anchors, low estimate", phase="wave", file="f_1_Hz", file_unit="Hz"),
                          Column("dynamic_flag", "text", "blank where c_s c_d = 1 holds", phase="wave")],
      clause="EN 1991-1-4 6.2(1)b (from memory)", formula="f_1 = sqrt(g / delta) / (2 pi), delta = rho g t w_unit / D, D = E t_min^3 / (12 (1 - nu^2))")
def first_frequency(w_unit: mm4, density: kg_m3, t_max: mm, t_min: mm, E_mod: MPa, nu: ratio) -> tuple[Array, NDArray]:
    """Frequency of each candidate, and a flag below 5 Hz."""
    stiffness = E_mod * t_min**3 / (12 * (1 - nu**2))
    weight = density * 1e-9 * G0 * t_max
    f = frequency(weight * w_unit / stiffness)
    return f, np.where(f < F_MIN, "outside-range: first frequency below 5 Hz, c_s c_d = 1 not shown (EN 1991-1-4 6.2)", "").astype(object)
