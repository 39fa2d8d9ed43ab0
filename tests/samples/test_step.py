"""Numbers and names as STEP text."""

from __future__ import annotations

import math
import uuid

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bimcheck.core.ids import compress, expand
from bimcheck.samples.step import SPACE, guid_of, quoted, real


@settings(max_examples=50)
@given(st.text(max_size=20))
def test_guid_is_the_compressed_uuid5(name: str) -> None:
    # Expected: core.ids.compress, the plain arithmetic of IFC's base 64, of RFC 4122's version 5.
    assert guid_of(name) == compress(uuid.uuid5(SPACE, name))
    assert expand(guid_of(name)).version == 5


@settings(max_examples=100)
@given(st.floats(-1e7, 1e7))
def test_reals_have_a_point_and_nine_decimals(value: float) -> None:
    text = real(value)  # ISO 10303-21, 6.4.2: a REAL has digits, a point, and an exponent only with a capital E
    assert "." in text and "e" not in text
    assert float(text) == pytest.approx(value, abs=5e-10 + math.ulp(value))  # half a decimal, and the nearest double to it


@pytest.mark.parametrize(("value", "text"), [(0.0, "0.0"), (-0.0, "0.0"), (1e-7, "0.000000100"), (12.5, "12.5"), (1e-12, "0.0")])
def test_real_texts(value: float, text: str) -> None:
    assert real(value) == text  # ISO 10303-21, 6.4.2


def test_quotes_are_doubled() -> None:
    assert quoted("it's a \\") == "'it''s a \\\\'"  # ISO 10303-21, 6.4.3
