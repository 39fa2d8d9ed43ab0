"""Formulas read, worked out and written: by hand, in both systems of units; prose stays prose."""

from __future__ import annotations

import math

import pytest

from bimcheck.explain.formula import NoFormula, parse, statements, value, worked
from bimcheck.explain.quantity import FORCE, Quantity, quantity


def _plain(text: str, **known: float) -> float:
    return value(parse(text), {k: Quantity(v) for k, v in known.items()}).value


@pytest.mark.parametrize(("text", "expected"), [
    ("1 + 2 3", 7), ("2 a / 4 b", 2 * 3 / 4 * 5), ("(1 + a) / (4 b)", 4 / 20), ("-a^2", -9), ("|a - b| a", 6), ("max(a, |-b|) / b", 1),
    ("sqrt(a^2 + 4^2)", 5), ("b - a - 1", 1), ("b / a / 2", 5 / 6), ("ln(a / a)", 0), ("2 a^2 b", 90), ("log10(100) pi", 2 * math.pi),
    ("max(1, 2) (a + b)", 16), ("|a| |b|", 15), ("a (max(|b - a|, 1) + 1)", 9), ("1.5e-1 a", 0.45),
])
def test_arithmetic(text: str, expected: float) -> None:
    """The usual order of operations; products by a space bind like /, from the left."""
    assert _plain(text, a=3.0, b=5.0) == pytest.approx(expected)


@pytest.mark.parametrize("text", ["0 where no limit is set", "|a", "a +", "f(a", "max(a", "a ) b", "a, b", "10 % of a"])
def test_prose_is_no_formula(text: str) -> None:
    found, prose = statements(f"u = a / b; {text}")
    assert [s.left for s in found] == ["u"] and prose == [text]


def test_dimensions_are_kept_and_must_agree() -> None:
    W = value(parse("rho g A t"), {"rho": quantity(2750, "kg/m3"), "g": quantity(9.80665, "m/s2"), "A": quantity(1.2, "m2"), "t": quantity(30, "mm")})
    assert W.dims == FORCE and W.shown() == "970.86 N"  # 2750 x 9.80665 x 1.2 x 0.03
    with pytest.raises(NoFormula):
        value(parse("a + b"), {"a": quantity(1, "mm"), "b": quantity(1, "N")})
    with pytest.raises(NoFormula):
        value(parse("a + c"), {"a": quantity(1, "mm")})
    assert value(parse("6 m / t^2"), {"m": quantity(300, "N", "m_Ed"), "t": quantity(30, "mm")}).shown() == "2 MPa"


@pytest.mark.parametrize(("number", "unit", "name", "si", "us"), [
    (25.4, "mm", "", "25.4 mm", "1 in"), (1e3, "N", "N_Ed", "1000 N", "224.81 lbf"), (1e3, "N", "m_Ed", "1000 N mm/mm", "224.81 lbf in/in"),
    (1e-3, "MPa", "", "1 kPa", "20.885 psf"), (10.0, "MPa", "", "10 MPa", "1450.4 psi"), (929030.4, "mm2", "", "0.92903 m2", "10 ft2"),
    (645.16, "mm2", "", "645.16 mm2", "1 in2"), (16.0184634, "kg/m3", "", "16.018 kg/m3", "1 lb/ft3"), (-0.0, "1", "", "0", "0"),
])
def test_what_people_read(number: float, unit: str, name: str, si: str, us: str) -> None:
    """Inch, pound and foot by definition; psi = lbf/in2, psf = lbf/ft2."""
    q = quantity(number, unit, name)
    assert (q.shown("si"), q.shown("us")) == (si, us)


def test_statements_follow_from_one_another_in_any_order() -> None:
    found, _ = statements("m = (1 + nu) M_0 / (4 pi r); M_0 = V e; r = c / 2; x = unknown / 2")
    known = {"nu": Quantity(0.2), "V": quantity(500, "N"), "e": quantity(20, "mm"), "c": quantity(40, "mm")}
    out = worked(found, known, "si")
    assert [line[0] for line in out.lines] == ["M_0", "r", "m"]
    assert out.lines[2][3].value == pytest.approx(1.2 * 10000 / (4 * math.pi * 20) * 1e3)
    assert out.lines[2][2] == "(1 + 0.2) x 10000 N mm / (4 x pi x 20 mm)"


def test_signs_and_powers_are_written_so_that_they_can_be_read() -> None:
    out = worked(statements("y = a^2 - (b - c) / d")[0], {"a": quantity(3, "mm"), "b": quantity(2, "mm2"), "c": quantity(-4, "mm2"), "d": Quantity(-2)}, "si")
    assert out.lines[0][2] == "(3 mm)^2 - (2 mm2 - (-4 mm2)) / (-2)" and out.lines[0][3].value == 12
