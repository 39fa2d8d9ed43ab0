"""Shapes that differ by place, quarter turn or mirror have one form; moves take points there and back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bimcheck.plate import canonical as module
from bimcheck.plate.canonical import MOVES, canonical, canonical_forms
from tests.plate.shapes import CASES, PANEL, PIERCED, box, moved

L_SHAPE = [np.array([[0, 0], [1000, 0], [1000, 300], [400, 300], [400, 800], [0, 800]], dtype=float)]


@pytest.mark.parametrize("rings", [PANEL, PIERCED, L_SHAPE, CASES["gable"][0]])
@pytest.mark.parametrize("move", range(8))
def test_one_form(rings: list[np.ndarray], move: int) -> None:
    other = moved([np.roll(r @ MOVES[move].T, 2, axis=0)[::-1] for r in rings], 123.4, -987.6)
    assert canonical(other).key == canonical(rings).key


def test_points_on_an_edge_and_repeated_ones_do_not_count() -> None:
    p = PANEL[0]
    extra = np.vstack([p[0], [600, 0], p[1], p[1], p[2], p[3], [0, 300], p[0]])
    assert canonical([extra]).key == canonical(PANEL).key


def test_other_shapes_have_other_forms() -> None:
    keys = {canonical(c[0]).key for c in CASES.values()}
    assert len(keys) == 4  # four of the cases are one panel
    bigger = [PANEL[0] * [1.0, 1.001]]
    assert canonical(bigger).key != canonical(PANEL).key


def test_tenths_of_a_millimetre_do_not_count() -> None:
    assert canonical([PANEL[0] + 0.02]).key == canonical(PANEL).key


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 7), st.floats(-5e4, 5e4), st.floats(-5e4, 5e4))
def test_points_go_there_and_back(move: int, x: float, y: float) -> None:
    rings = [r @ MOVES[move].T + [x, y] for r in L_SHAPE]
    form = canonical(rings)
    corners = form.to(rings[0])
    assert np.abs(corners.min(axis=0)).max() < 1e-6
    wanted = {tuple(p) for p in np.round(form.rings[0]).tolist()}
    assert {tuple(p) for p in np.round(corners).tolist()} == wanted
    np.testing.assert_allclose(form.back(corners), rings[0], atol=1e-6)


@pytest.mark.parametrize("size", [(1200, 600), (600, 1200), (900, 900)])
def test_rectangles_take_the_short_way_to_the_same_form(size: tuple[int, int], monkeypatch: pytest.MonkeyPatch) -> None:
    rings = [box(50, 70, 50 + size[0], 70 + size[1])[::-1]]
    short = canonical(rings)
    monkeypatch.setattr(module, "_box", lambda rings: None)
    long = canonical(rings)
    assert short.key == long.key and np.array_equal(short.matrix, long.matrix) and np.array_equal(short.offset, long.offset)


def test_forms_of_many_are_those_of_each() -> None:
    outlines = [moved(rings, 5000.0 * k, 30.0 * k) for k, rings in enumerate([PANEL, PIERCED, L_SHAPE, PANEL, L_SHAPE])]
    for form, rings in zip(canonical_forms(outlines), outlines, strict=True):
        assert form.key == canonical(rings).key
        np.testing.assert_allclose(form.to(rings[0]), canonical(rings).to(rings[0]), atol=1e-6)
