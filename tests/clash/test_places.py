"""What bodies of one make are called; the names are invented."""

from __future__ import annotations

import pytest

from bimcheck.clash.places import kind


@pytest.mark.parametrize(("name", "ifc_class", "expected"), [
    ("Bracket 339", "IfcMember", "Bracket"), ("F2-02-02-bracket", "IfcMember", "bracket"), ("F4-07-03", "IfcWindow", "IfcWindow"),
    ("Bracket 80x60 left:417", "", "Bracket left"), ("L-profile 60x40x3", "", "L-profile"), ("Horizontal rail", "IfcMember", "Horizontal rail"),
    ("", "IfcPipeSegment", "IfcPipeSegment"), (None, None, "body"), ("12", "", "body")])
def test_kind(name: str | None, ifc_class: str | None, expected: str) -> None:
    assert kind(name, ifc_class) == expected
