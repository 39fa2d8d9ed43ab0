"""One anchor ineffective: by hand, accidental factors 1.0 (EN 1990 6.4.3.3, from memory)."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.checks.robustness import lost_anchor_bending, lost_anchor_shear, lost_anchor_tension, second_support

A = np.array


def test_tension_with_an_anchor_lost() -> None:
    # 1 kPa x 0.4 m2 = 400 N, all the weight's couple 1000 x 40 / 400 = 100 N; resistance 600 x 2
    got = lost_anchor_tension(A([-1e-3]), A([4e5]), A([1000.0]), A([40.0]), A([400.0]), A([0.0]), A([True]), A([0.0]), A([20.0]), A([600.0]), A([2.0]), robust=True)
    assert got[1][0] == pytest.approx(500.0) and got[0][0] == pytest.approx(500 / 1200)


def test_bending_with_an_anchor_lost() -> None:
    got = lost_anchor_bending(A([-1e-3]), A([5e-4]), A([6e4]), A([0.0]), A([0.0]), A([10.0]), A([20.0]), A([1.8]), robust=True)
    assert got[1][0] == pytest.approx(6 * 60 / 100) and got[0][0] == pytest.approx(3.6 / 36)


def test_shear_with_the_other_hanging_anchor_lost() -> None:
    # all of 1000 N on one anchor, resistance 600 x 2; nothing where nothing hangs (statics)
    u, V, _ = lost_anchor_shear(A([1000.0] * 2), A([True, False]), A([600.0] * 2), A([2.0] * 2), robust=True)
    assert V.tolist() == [1000.0, 0.0] and u[0] == pytest.approx(1000 / 1200) and u[1] == 0
    assert np.isnan(lost_anchor_shear(A([1000.0]), A([True]), A([np.nan]), A([2.0]), robust=True)[0][0])


def test_misfit_stays_when_an_anchor_is_lost() -> None:
    # as above with 30 N and 12 N mm/mm by an error of the supports on top (permanent action, factor 1.0)
    got = lost_anchor_tension(A([-1e-3]), A([4e5]), A([1000.0]), A([40.0]), A([400.0]), A([30.0]), A([True]), A([0.0]), A([20.0]), A([600.0]), A([2.0]), robust=True)
    assert got[1][0] == pytest.approx(530.0)
    got = lost_anchor_bending(A([-1e-3]), A([5e-4]), A([6e4]), A([12.0]), A([4.0]), A([10.0]), A([20.0]), A([1.8]), robust=True)
    assert got[1][0] == pytest.approx(6 * 72 / 100)


def test_off_tension_and_shear_ask_for_nothing() -> None:
    nan = A([np.nan])
    off = lost_anchor_tension(A([-1e-3]), nan, A([1000.0]), A([40.0]), A([400.0]), A([0.0]), A([True]), A([0.0]), A([20.0]), nan, A([2.0]), robust=False)
    assert off[0][0] == 0 and lost_anchor_shear(A([1000.0]), A([True]), nan, A([2.0]), robust=False)[0][0] == 0


def test_off_by_default_and_never_passing_without_a_solution() -> None:
    assert lost_anchor_bending(A([-1e-3]), A([0.0]), A([np.nan]), A([0.0]), A([0.0]), A([10.0]), A([20.0]), A([1.8]), robust=False)[0][0] == 0
    assert np.isnan(lost_anchor_bending(A([-1e-3]), A([0.0]), A([np.nan]), A([0.0]), A([0.0]), A([10.0]), A([20.0]), A([1.8]), robust=True)[0][0])
    assert second_support(A([1, 2]), robust=True).tolist() == [np.inf, 0.0]
