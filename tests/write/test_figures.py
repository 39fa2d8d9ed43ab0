"""Figures in US units.  Conversions: inch = 25.4 mm, foot = 304.8 mm, lbf = 4.4482216152605 N by definition (NIST SP 811, B.8);
1 MPa = 145.0377 psi (ibid.)."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.write.figures import said, scale, scales, unit_shown


@pytest.mark.parametrize(("unit", "shown", "of_one"), [
    ("mm", "in", 1 / 25.4), ("m", "ft", 1 / 0.3048), ("N", "lbf", 1 / 4.4482216152605), ("MPa", "psi", 145.0377), ("kPa", "psf", 20.88543),
    ("kg", "lb", 1 / 0.45359237), ("N/mm", "lbf/in", 25.4 / 4.4482216152605), ("Hz", "Hz", 1.0), ("", "", 1.0)])
def test_units_and_factors(unit: str, shown: str, of_one: float) -> None:
    assert unit_shown(unit, "us") == shown and unit_shown(unit, "si") == unit
    assert scale(unit, "us") == pytest.approx(of_one, rel=1e-6) and scale(unit, "si") == 1.0


def test_a_column_of_units() -> None:
    assert scales(np.array(["mm", "", "mm"], dtype=object), "us") == pytest.approx([1 / 25.4, 1.0, 1 / 25.4])


@pytest.mark.parametrize(("text", "turned"), [
    ("joint right is 2.5 mm wide, 5 mm are required", "joint right is 0.098 in wide, 0.197 in are required"),  # 2.5/25.4, 5/25.4
    ("would pass with sides 84 % of 1382 x 1400 mm", "would pass with sides 84 % of 54.41 x 55.12 in"),
    ("B +1.20 m, 3 -0.40 m", "B +3.94 ft, 3 -1.31 ft"),
    ("3 mm to the left of A2, 2 more; utilisation 1.05", "0.118 in to the left of A2, 2 more; utilisation 1.05"),
    ("1100 N, 21.1 MPa, 1.5 kPa", "247 lbf, 3060 psi, 31.33 psf"),
    ("P-F1 12 m2 panel 7 mm2 A4 mm", "P-F1 129.17 ft2 panel 0.01 in2 A4 mm"),  # the last is no figure
])
def test_sentences(text: str, turned: str) -> None:
    column = np.array([text, text], dtype=object)
    assert said(column, "us").tolist() == [turned, turned] and said(column, "si") is column
