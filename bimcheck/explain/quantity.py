"""Numbers with their dimensions: what a formula is put in, and how people read it, in SI or in US units."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bimcheck.core.units import FOOT, INCH, LBF

Dims = tuple[float, float, float, float]  # powers of kg, mm, s, K
NONE: Dims = (0.0, 0.0, 0.0, 0.0)
FORCE, PRESSURE, MOMENT = (1.0, 1.0, -2.0, 0.0), (1.0, -1.0, -2.0, 0.0), (1.0, 2.0, -2.0, 0.0)
N = 1e3  # kg mm / s2
PER_WIDTH = "N mm/mm"  # a moment per width has the dimensions of a force
SMALL_PRESSURE = 0.05  # MPa: below it a pressure of wind, above it a stress
LARGE_AREA = 1e5  # mm2: from there in m2 or ft2

# unit -> size in kg, mm, s, K, and dimensions
UNITS: dict[str, tuple[float, Dims]] = {
    "1": (1.0, NONE), "count": (1.0, NONE), "flag": (1.0, NONE), "deg": (1.0, NONE), "": (1.0, NONE),
    "mm": (1.0, (0, 1, 0, 0)), "m": (1e3, (0, 1, 0, 0)), "in": (INCH, (0, 1, 0, 0)), "ft": (FOOT, (0, 1, 0, 0)),
    "mm2": (1.0, (0, 2, 0, 0)), "m2": (1e6, (0, 2, 0, 0)), "in2": (INCH**2, (0, 2, 0, 0)), "ft2": (FOOT**2, (0, 2, 0, 0)),
    "mm3": (1.0, (0, 3, 0, 0)), "in3": (INCH**3, (0, 3, 0, 0)), "mm4": (1.0, (0, 4, 0, 0)), "in4": (INCH**4, (0, 4, 0, 0)),
    "1/mm2": (1.0, (0, -2, 0, 0)), "1/in2": (INCH**-2, (0, -2, 0, 0)),
    "N": (N, FORCE), "kN": (1e3 * N, FORCE), "lbf": (LBF * N, FORCE), PER_WIDTH: (N, FORCE), "lbf in/in": (LBF * N, FORCE),
    "N mm": (N, MOMENT), "lbf in": (LBF * N * INCH, MOMENT),
    "MPa": (N, PRESSURE), "kPa": (1e-3 * N, PRESSURE), "Pa": (1e-6 * N, PRESSURE), "GPa": (1e3 * N, PRESSURE),
    "psi": (LBF * N / INCH**2, PRESSURE), "psf": (LBF * N / FOOT**2, PRESSURE), "N/mm": (N, (1, 0, -2, 0)), "kN/mm": (1e3 * N, (1, 0, -2, 0)),
    "kg": (1.0, (1, 0, 0, 0)), "lb": (0.45359237, (1, 0, 0, 0)), "kg/m3": (1e-9, (1, -3, 0, 0)), "lb/ft3": (0.45359237 / FOOT**3, (1, -3, 0, 0)),
    "m/s": (1e3, (0, 1, -1, 0)), "mph": (447.04, (0, 1, -1, 0)), "m/s2": (1e3, (0, 1, -2, 0)), "ft/s2": (FOOT, (0, 1, -2, 0)),
    "Hz": (1.0, (0, 0, -1, 0)), "s": (1.0, (0, 0, 1, 0)), "K": (1.0, (0, 0, 0, 1)), "degC": (1.0, (0, 0, 0, 1)), "1/K": (1.0, (0, 0, 0, -1)),
}
# Units shown by dimensions: SI and US; pressures, areas and moments per width are told apart by `_unit`.
_SI = ["mm", "mm2", "mm3", "mm4", "1/mm2", "N", "N mm", "MPa", "N/mm", "kg", "kg/m3", "m/s", "m/s2", "Hz", "s", "degC", "1/K"]
_US = ["in", "in2", "in3", "in4", "1/in2", "lbf", "lbf in", "psi", "lb", "lb/ft3", "mph", "ft/s2", "Hz", "s", "degC", "1/K"]
_SHOWN = {"si": {UNITS[u][1]: u for u in reversed(_SI)}, "us": {UNITS[u][1]: u for u in reversed(_US)}}


@dataclass(frozen=True)
class Quantity:
    """value in kg, mm, s, K; per_width: a moment per width rather than a force."""

    value: float
    dims: Dims = NONE
    per_width: bool = False

    def shown(self, units: str = "si") -> str:
        """Figure and unit, five digits; units: "si" or "us"."""
        unit = self._unit(units)
        size = UNITS[unit][0] if unit in UNITS else 1.0
        return f"{figure(self.value / size)} {unit}".rstrip()

    def _unit(self, units: str) -> str:
        if self.dims == FORCE and self.per_width:
            return PER_WIDTH if units == "si" else "lbf in/in"
        if self.dims == PRESSURE and abs(self.value) < SMALL_PRESSURE * N:
            return "kPa" if units == "si" else "psf"
        if self.dims == UNITS["mm2"][1] and abs(self.value) >= LARGE_AREA:
            return "m2" if units == "si" else "ft2"
        found = _SHOWN[units].get(self.dims) or _SHOWN["si"].get(self.dims)
        return found or _spelt(self.dims)


def figure(value: float) -> str:
    """Five digits, without noughts at the end; nan and inf by name."""
    if math.isnan(value) or math.isinf(value):
        return str(value)
    text = f"{value:.5g}"
    return "0" if float(text) == 0 else text


def quantity(value: float, unit: str, name: str = "") -> Quantity:
    """A value of a column or setting; raises KeyError for a unit that formulas do not know.  name: moments per width are
    those in N whose name begins with m."""
    size, dims = UNITS[unit]
    return Quantity(float(value) * size, dims, unit == PER_WIDTH or (unit == "N" and name.startswith("m_")))


def _spelt(dims: Dims) -> str:
    return " ".join(f"{name}^{power:g}" if power != 1 else name for name, power in zip(("kg", "mm", "s", "K"), dims, strict=True) if power)
