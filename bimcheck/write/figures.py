"""Figures as people read them: SI, or the units of US practice; headings, numbers and the figures inside sentences."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import factor

US = {"mm": "in", "m": "ft", "mm2": "in2", "m2": "ft2", "N": "lbf", "kN": "kip", "MPa": "psi", "kPa": "psf", "kg": "lb", "N/mm": "lbf/in", "kN/m": "lbf/ft"}
FACTORS = {"lbf/in": ("N/mm", factor("mm") * factor("in") / factor("lbf")), "lbf/ft": ("kN/m", factor("kN") / factor("lbf") * factor("ft") / factor("m"))}  # no such unit inside
# (least value, decimals): how finely a figure in a sentence is written.
FINE = {"in": ((10.0, 2), (0.0, 3)), "ft": ((0.0, 2),), "lbf": ((100.0, 0), (0.0, 1)), "psi": ((100.0, 0), (0.0, 1))}
LOOKS = {"in": "0.00#", "ft": "0.00", "lbf": "0.0", "psi": "0", "psf": "0.0"}  # of columns
_FIGURE = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?(?: x -?\d+(?:\.\d+)?)*) (mm2|mm|m2|m|MPa|kPa|kN|N/mm|N|kg)(?![\w/])")


def unit_shown(unit: str, units: str) -> str:
    """The unit in which figures of `unit` are shown; units: "si" or "us"."""
    return US.get(unit, unit) if units == "us" else unit


def scale(unit: str, units: str) -> float:
    """Multiply a figure in `unit` by this to have it as it is shown."""
    to = unit_shown(unit, units)
    return 1.0 if to == unit else FACTORS[to][1] if to in FACTORS else factor(unit, to)


def scales(unit: NDArray[Any], units: str) -> NDArray[np.float64]:
    """(n,) the same for a column of units."""
    known = {u: scale(u, units) for u in set(unit.tolist())}
    return np.array([known[u] for u in unit.tolist()], dtype=float)


def said(texts: NDArray[Any], units: str) -> NDArray[Any]:
    """(n,) sentences with the figures in them turned into the units shown."""
    if units != "us":
        return texts
    known = {t: _FIGURE.sub(_turned, str(t)) for t in set(texts.tolist())}
    return np.array([known[t] for t in texts.tolist()], dtype=object)


def _turned(found: re.Match[str]) -> str:
    unit = US[found[2]]
    by = scale(found[2], "us")
    return f"{' x '.join(_short(float(v) * by, unit) for v in found[1].split(' x '))} {unit}"


def _short(value: float, unit: str) -> str:
    decimals = next(d for least, d in FINE.get(unit, ((0.0, 2),)) if abs(value) >= least)
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
