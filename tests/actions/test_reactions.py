"""Forces on supports.  By hand: statics, and the factors of EN 1990 6.4.3.2 (6.10)."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.actions.reactions import listed, support_forces


def forces(push: float = 0.0, **columns: float):
    base = dict(w_anchor_suction=-1.2e-3, w_anchor_pressure=0.8e-3, w_E=0.0, w_G=0.0, share=0.25e6, share_min=0.20e6, N_G=12.0, V_Gk=200.0, N_misfit=0.0)
    table = listed("en1990", "characteristic", False)
    out = support_forces(table, {k: np.array([v]) for k, v in {**base, **columns}.items()}, np.array([push]))
    return {c.name: tuple(float(o[0, i]) for o in out) for i, c in enumerate(table)}


def test_one_upper_anchor_by_hand() -> None:
    """Suction 1.2 kPa on 0.20 to 0.25 m2: 240 to 300 N; pressure 0.8: -200 to -160 N; the eccentric weight pulls 12 N, 200 N hang."""
    got = forces()
    assert got["weight"] == pytest.approx((12.0, 12.0, 200.0))
    assert got["wind suction (characteristic)"] == pytest.approx((300.0, 240.0, 0.0))
    assert got["wind pressure (characteristic)"] == pytest.approx((-160.0, -200.0, 0.0))
    assert got["1.35 G + 1.5 W suction"] == pytest.approx((1.5 * 300 + 1.35 * 12, 1.5 * 240 + 1.35 * 12, 270.0))
    assert got["1.0 G + 1.5 W pressure"] == pytest.approx((-1.5 * 160 + 12, -1.5 * 200 + 12, 200.0))


def test_the_lower_row_is_pressed() -> None:
    got = forces(12.0, N_G=0.0, V_Gk=0.0)
    assert got["weight"] == pytest.approx((-12.0, -12.0, 0.0))
    assert got["1.35 G"] == pytest.approx((-1.35 * 12, -1.35 * 12, 0.0))


def test_misfit_acts_either_way_and_is_no_single_action() -> None:
    got = forces(N_misfit=50.0)
    assert got["wind suction (characteristic)"] == pytest.approx((300.0, 240.0, 0.0))
    most, least, _ = got["1.0 G + 1.5 W suction"]
    assert (most, least) == pytest.approx((1.5 * 300 + 12 + 1.35 * 50, 1.5 * 240 + 12 - 1.35 * 50))
