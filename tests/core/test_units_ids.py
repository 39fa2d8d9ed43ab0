"""Units by definition; GlobalIds by the IFC rule."""

from __future__ import annotations

import uuid

import ifcopenshell.guid
import pytest

from bimcheck.core import ids, units
from bimcheck.core.errors import InputError


@pytest.mark.parametrize(("unit", "to", "value"), [
    ("in", "mm", 25.4), ("ft", "m", 0.3048), ("lbf", "N", 4.4482216152605), ("psi", "Pa", 6894.757293168361),
    ("psf", "Pa", 47.88025898033584), ("mph", "m/s", 0.44704), ("US survey ft", "m", 1200 / 3937),
])  # exact by definition: international yard and pound agreement 1959; g0 9.80665 m/s2 (CGPM 1901)
def test_units_by_definition(unit: str, to: str, value: float) -> None:
    assert units.factor(unit, to) == pytest.approx(value, rel=1e-14)


def test_unknown_and_mixed_units_raise() -> None:
    with pytest.raises(InputError, match="unknown unit"):
        units.factor("furlong")
    with pytest.raises(InputError, match="cannot convert"):
        units.factor("mm", "N")


def test_global_ids_agree_with_another_library() -> None:
    for i in range(20):
        value = uuid.uuid5(uuid.NAMESPACE_URL, str(i))
        text = ids.compress(value)
        assert text == ifcopenshell.guid.compress(value.hex)  # general reference library
        assert ids.expand(text) == value


def test_derived_ids_are_stable_and_distinct() -> None:
    guid = ids.compress(uuid.uuid5(uuid.NAMESPACE_URL, "a panel"))
    assert ids.derived(guid, "anchor", "A1") == ids.derived(guid, "anchor", "A1")
    assert len({ids.derived(guid, "anchor", s, o) for s in ("A1", "A2") for o in (0, 1)}) == 4
