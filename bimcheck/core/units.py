"""Units: one coherent set inside (mm, N, MPa), one table for everything else, and the annotations of rules.

The table raises on names it does not know; it never passes a value through unchanged.
"""

from __future__ import annotations

from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError

Array = NDArray[np.float64]

# Annotations for the positional parameters of rules: `def u(m: N, t: mm) -> ratio`.
mm = Annotated[Array, "mm"]
mm2 = Annotated[Array, "mm2"]
mm3 = Annotated[Array, "mm3"]
mm4 = Annotated[Array, "mm4"]
N = Annotated[Array, "N"]  # also a moment per width, N mm / mm
Nmm = Annotated[Array, "N mm"]
MPa = Annotated[Array, "MPa"]
N_mm = Annotated[Array, "N/mm"]
N_mm3 = Annotated[Array, "N/mm3"]
kg_m3 = Annotated[Array, "kg/m3"]
deg = Annotated[Array, "deg"]
per_K = Annotated[Array, "1/K"]
per_mm2 = Annotated[Array, "1/mm2"]
ratio = Annotated[Array, "1"]
text = Annotated[NDArray[Any], "text"]
flag = Annotated[NDArray[np.bool_], "flag"]
count = Annotated[NDArray[np.int64], "count"]
ragged = Annotated[Any, "ragged"]

# Exact by definition: inch 25.4 mm, pound 0.45359237 kg, g0 9.80665 m/s2, US survey foot 1200/3937 m.
G0 = 9.80665
LBF = 0.45359237 * G0
INCH = 25.4
FOOT = 304.8

_TO_BASE: dict[str, tuple[str, float]] = {
    "1": ("1", 1.0), "%": ("1", 0.01), "count": ("count", 1.0),
    "text": ("text", 1.0), "flag": ("flag", 1.0), "ragged": ("ragged", 1.0),
    "mm": ("mm", 1.0), "cm": ("mm", 10.0), "m": ("mm", 1000.0), "um": ("mm", 1e-3),
    "in": ("mm", INCH), "ft": ("mm", FOOT), "US survey ft": ("mm", 1200.0 / 3937.0 * 1000.0),
    "mm2": ("mm2", 1.0), "cm2": ("mm2", 100.0), "m2": ("mm2", 1e6),
    "in2": ("mm2", INCH**2), "ft2": ("mm2", FOOT**2),
    "mm3": ("mm3", 1.0), "m3": ("mm3", 1e9),
    "mm4": ("mm4", 1.0),
    "N": ("N", 1.0), "kN": ("N", 1e3), "lbf": ("N", LBF), "kip": ("N", 1e3 * LBF), "kgf": ("N", G0),
    "Nm/m": ("N", 1.0), "N mm/mm": ("N", 1.0), "lbf in/in": ("N", LBF),
    "N mm": ("N mm", 1.0), "N m": ("N mm", 1e3),
    "MPa": ("MPa", 1.0), "N/mm2": ("MPa", 1.0), "kPa": ("MPa", 1e-3), "Pa": ("MPa", 1e-6),
    "GPa": ("MPa", 1e3), "psi": ("MPa", LBF / INCH**2), "psf": ("MPa", LBF / FOOT**2),
    "N/mm": ("N/mm", 1.0), "kN/mm": ("N/mm", 1e3), "kN/m": ("N/mm", 1.0),
    "N/mm3": ("N/mm3", 1.0), "kN/m3": ("N/mm3", 1e-6),
    "kg": ("kg", 1.0), "lb": ("kg", 0.45359237),
    "kg/m3": ("kg/m3", 1.0), "lb/ft3": ("kg/m3", 0.45359237 / 0.3048**3),
    "1/K": ("1/K", 1.0), "1/mm": ("1/mm", 1.0), "1/mm2": ("1/mm2", 1.0),
    "K": ("K", 1.0), "degC": ("degC", 1.0),
    "m/s": ("m/s", 1.0), "mph": ("m/s", 0.44704), "km/h": ("m/s", 1 / 3.6),
    "deg": ("deg", 1.0), "Hz": ("Hz", 1.0), "s": ("s", 1.0),
}


def base(unit: str) -> str:
    """The inside unit of `unit`; raises InputError on an unknown name."""
    return _look_up(unit)[0]


def factor(unit: str, to: str | None = None) -> float:
    """Multiply a value in `unit` by this to have it in `to` (default: the inside unit).

    Raises InputError for unknown names and for units of different kinds.
    """
    kind, scale = _look_up(unit)
    if to is None:
        return scale
    other, other_scale = _look_up(to)
    if kind != other:
        raise InputError(f"cannot convert {unit} to {to}", "unit table", "use a unit of the same kind")
    return scale / other_scale


def _look_up(unit: str) -> tuple[str, float]:
    try:
        return _TO_BASE[unit]
    except KeyError:
        raise InputError(f"unknown unit '{unit}'", "unit table", f"use one of {', '.join(_TO_BASE)}") from None
