"""Values as STEP text; ifcopenshell's own parser is the peer that reads them back."""

from __future__ import annotations

import math
import re

import ifcopenshell
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bimcheck.write.step_text import point, real, reals, string, unquoted
from tests.write.step_samples import PLAIN

REAL = re.compile(r"[+-]?\d+\.\d*(E[+-]?\d+)?")  # ISO 10303-21, 6.4.2 (from memory)
TEXTS = ["plain", "it's", "back\\slash", "\\X2\\0041\\X0\\ typed by hand", "größe 30 µm", "панель", "パネル",
         "لوحة", "𝛼𝛽 and 😀", "line\nbreak\ttab", "", "''", "#12;", "/* no comment */", "ends with \\"]


def _read_back(text: str) -> str:
    file = PLAIN.replace(b"'panel'", string(text).encode("ascii")).decode("ascii")
    return ifcopenshell.file.from_string(file).by_id(40).Name


@pytest.mark.parametrize("text", TEXTS)
def test_texts_survive(text: str) -> None:
    written = string(text)
    assert written.isascii() and written.isprintable()
    assert unquoted(written[1:-1].encode()) == text
    assert _read_back(text) == text


@settings(max_examples=100, deadline=None)
@given(st.text())
def test_any_text_survives_and_stays_one_literal(text: str) -> None:
    text = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    written = string(text)
    assert unquoted(written[1:-1].encode("ascii")) == text
    assert re.fullmatch(r"'(?:[^']|'')*'", written)


def test_other_spellings_of_a_text_are_read() -> None:
    """The same text in the four ways ISO 10303-21 (6.4.3, from memory) allows."""
    assert unquoted(b"\\X\\E9") == unquoted(b"\\S\\i") == unquoted(b"\\X2\\00E9\\X0\\") == unquoted("é".encode()) == "é"


@settings(max_examples=200, deadline=None)
@given(st.floats(allow_nan=False, allow_infinity=False))
def test_any_real_is_valid_and_keeps_nine_digits(value: float) -> None:
    text = real(value)
    assert REAL.fullmatch(text), text
    assert math.isclose(float(text), value, rel_tol=5.001e-9, abs_tol=1e-300)


def test_reals_are_short_and_never_minus_zero() -> None:
    assert reals([0.1 + 0.2, 1200.0, -0.0, 1e-7, 1.25e22, 123456.7894999]) == [
        "0.3", "1200.0", "0.0", "1.E-07", "1.25E+22", "123456.789"]
    assert point(np.array([0.0, 1.5, -2.0])) == "(0.0,1.5,-2.0)"


def test_what_is_no_number_is_never_written() -> None:
    for value in (math.nan, math.inf):
        with pytest.raises(ValueError, match="finite"):
            reals([1.0, value])
