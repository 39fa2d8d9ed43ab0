"""The author's units, and values of ours in them; where the author states none, a value carries its own unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import ifcopenshell

from bimcheck.core import units
from bimcheck.core.errors import InputError

_PREFIX = {None: 0, "EXA": 18, "PETA": 15, "TERA": 12, "GIGA": 9, "MEGA": 6, "KILO": 3, "HECTO": 2, "DECA": 1,
           "DECI": -1, "CENTI": -2, "MILLI": -3, "MICRO": -6, "NANO": -9, "PICO": -12, "FEMTO": -15, "ATTO": -18}
_POWER = {"SQUARE_METRE": 2, "CUBIC_METRE": 3}  # the prefix of these counts once for each metre
_TO_KILOGRAM = {"GRAM": -3}  # the SI base unit of mass has a prefix itself


@dataclass(frozen=True)
class Kind:
    """A quantity: its IFC unit type, SI size of the inside unit, and the unit written where the author has none."""

    unit_type: str
    inside: str
    inside_si: float
    own: str  # STEP text of our own unit
    own_name: str
    own_si: float


LENGTH = Kind("LENGTHUNIT", "mm", 1e-3, "IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.)", "mm", 1e-3)
AREA = Kind("AREAUNIT", "mm2", 1e-6, "IFCSIUNIT(*,.AREAUNIT.,$,.SQUARE_METRE.)", "m2", 1.0)
MASS = Kind("MASSUNIT", "kg", 1.0, "IFCSIUNIT(*,.MASSUNIT.,.KILO.,.GRAM.)", "kg", 1.0)
FORCE = Kind("FORCEUNIT", "N", 1.0, "IFCSIUNIT(*,.FORCEUNIT.,$,.NEWTON.)", "N", 1.0)
PRESSURE = Kind("PRESSUREUNIT", "MPa", 1e6, "IFCSIUNIT(*,.PRESSUREUNIT.,.KILO.,.PASCAL.)", "kPa", 1e3)

MEASURES: dict[str, Kind] = {
    "IfcLengthMeasure": LENGTH, "IfcPositiveLengthMeasure": LENGTH, "IfcAreaMeasure": AREA, "IfcMassMeasure": MASS,
    "IfcForceMeasure": FORCE, "IfcPressureMeasure": PRESSURE,
}


@dataclass(frozen=True)
class Units:
    """SI size of the author's unit by unit type; `length_mm` is the size of a coordinate."""

    stated: Mapping[str, float]
    length_mm: float

    def factor(self, kind: Kind) -> float:
        """Multiply an inside value by this to write it."""
        return kind.inside_si / self.stated.get(kind.unit_type, kind.own_si)

    def own(self, kind: Kind) -> bool:
        """Whether values of this kind carry a unit of their own."""
        return kind.unit_type not in self.stated


def read_units(model: ifcopenshell.file, length_unit: str = "") -> Units:
    """The project's units.  length_unit: what coordinates are in where the file does not say ("mm", "m", ...).

    Raises InputError where neither says.
    """
    projects = model.by_type("IfcProject")
    assignment = projects[0].UnitsInContext if projects else None
    named = [u for u in (assignment.Units if assignment else ()) if hasattr(u, "UnitType")]
    stated = {u.UnitType: size for u in named if (size := _size(u)) is not None}
    if "LENGTHUNIT" not in stated and not length_unit:
        raise InputError("the model states no length unit", "", "set [model] length_unit in the project file")
    length = stated["LENGTHUNIT"] * 1e3 if "LENGTHUNIT" in stated else units.factor(length_unit, "mm")
    return Units(stated, length)


def _size(unit: Any) -> float | None:
    """SI size of a unit, mass in kilograms; None where it is of a kind never written here."""
    if unit.is_a("IfcSIUnit"):
        exponent = _PREFIX[unit.Prefix] * _POWER.get(unit.Name, 1) + _TO_KILOGRAM.get(unit.Name, 0)
        return float(f"1e{exponent}")
    if unit.is_a("IfcConversionBasedUnit"):
        base = _size(unit.ConversionFactor.UnitComponent)
        return None if base is None else float(unit.ConversionFactor.ValueComponent.wrappedValue) * base
    if unit.is_a("IfcDerivedUnit"):
        return _product(unit)
    return None


def _product(unit: Any) -> float | None:
    size = 1.0
    for element in unit.Elements:
        part = _size(element.Unit)
        if part is None:
            return None
        size *= part ** int(element.Exponent)
    return size
