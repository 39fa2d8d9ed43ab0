"""How figures are shown: kN and lbf for pull-out, MPa and psi for flexure; words for what has no value."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from bimcheck.core.units import factor
from bimcheck.pullout.groups import Group

CAUTION = ("Preliminary design aid. Local codes, the product's approval and a licensed engineer decide "
           "whether and how these figures may be used.")
RULES = {"normal": "normal", "lognormal": "log-normal", "none": "n/a"}


@dataclass(frozen=True)
class Unit:
    """Multiply a value of the group by si or us."""

    si_name: str
    si: float
    us_name: str
    us: float


FORCE = Unit("kN", factor("N", "kN"), "lbf", factor("N", "lbf"))
STRESS = Unit("MPa", 1.0, "psi", factor("MPa", "psi"))


def unit_of(group: Group) -> Unit:
    return STRESS if group.flexural else FORCE


def both(value: float, unit: Unit) -> str:
    """'3.32 kN (747 lbf)'; 'no value' for nan."""
    if math.isnan(value):
        return "no value"
    return f"{value * unit.si:.2f} {unit.si_name} ({value * unit.us:,.0f} {unit.us_name})"


def file_stem(group: Group) -> str:
    """'G01-granite-30-mm-grey': plain characters only, short enough for any file system."""
    plain = re.sub(r"[^a-z0-9]+", "-", group.label.casefold()).strip("-")
    return f"{group.id}-{plain}"[:80].rstrip("-")
