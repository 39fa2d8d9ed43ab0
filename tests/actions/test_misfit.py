"""Misfit: an out-of-plane error of one support, from the plate's unit solution to forces, moments and combinations."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bimcheck.actions.combinations import combinations
from bimcheck.actions.forces import anchor_forces, plate_moment
from bimcheck.actions.misfit import misfit_factor, misfit_in_plate, misfit_on_anchors
from bimcheck.layout.estimate_moved import force_per_error
from bimcheck.layout.jobs import Job
from bimcheck.plate.envelope import layouts
from bimcheck.resistances.plate import plate_stiffness
from tests.plate.shapes import NINE, PANEL, SIX, grid

A = np.array
ONE, ZERO = np.ones(1), np.zeros(1)
FOUR = grid([150, 1050], [100, 500])


def _force(E: float, t: float, k: float, delta: float, where: Path, anchors: np.ndarray = FOUR) -> float:
    """Greatest force in N of anchors on springs k N/mm under a panel 1200 x 600, nu 0.2."""
    D = float(plate_stiffness(A([E]), A([t]), A([0.2]))[0])
    table = layouts([Job(tuple(PANEL), 0.2, anchors, 10.0, 0.0, 0.0, D / k)], where=where)
    return float(np.max(misfit_on_anchors(table["share_moved"].values, A([D]), misfit_mm=delta, spring_kN_mm=k / 1e3)))


@pytest.mark.parametrize(("E", "t", "k", "expected"), [
    (50e3, 30.0, 1e9, 878.0),  # granite, rigid supports
    (50e3, 30.0, 5e3, 515.0),  # granite on 5 kN/mm
    (60e3, 12.0, 1e9, 67.0),  # porcelain, rigid supports
])
def test_one_millimetre_on_four_points(E: float, t: float, k: float, expected: float, tmp_path: Path) -> None:
    """Independent program of the project's method, 1200 x 600 mm on four points, 1 mm; springs are binned to 5 %."""
    assert _force(E, t, k, 1.0, tmp_path) == pytest.approx(expected, rel=0.012)


def test_force_scales_with_stiffness_and_error(tmp_path: Path) -> None:
    """D and delta enter linearly on rigid supports (linear elasticity): (24 / 12)^3 x 2 = 16."""
    assert _force(60e3, 24.0, 1e12, 2.0, tmp_path) == pytest.approx(16 * _force(60e3, 12.0, 1e12, 1.0, tmp_path), rel=1e-6)


def test_springs_in_line_by_hand(tmp_path: Path) -> None:
    """Four anchors have one self-stress, signs + - + -: 1 / F = 1 / F_rigid + 4 / (k delta) (springs in line, statics)."""
    rigid = _force(50e3, 30.0, 1e12, 1.0, tmp_path)
    D = 50e3 * 27e3 / (12 * 0.96)
    k = D / 1.05 ** round(np.log(D / 5e3) / np.log(1.05))  # a bin of the engine
    assert _force(50e3, 30.0, k, 1.0, tmp_path) == pytest.approx(1 / (1 / rigid + 4 / k), rel=1e-6)


def test_without_misfit_nothing_is_needed() -> None:
    nan = A([np.nan])
    assert misfit_on_anchors(nan, A([1e8]), misfit_mm=0.0, spring_kN_mm=10.0)[0] == 0
    assert [m[0] for m in misfit_in_plate(nan, nan, A([1e8]), misfit_mm=0.0, spring_kN_mm=10.0)] == [0, 0]
    assert np.isnan(misfit_on_anchors(nan, A([1e8]), misfit_mm=1.0, spring_kN_mm=10.0)[0])  # asked for and not solved


@pytest.mark.parametrize(("format", "wind", "factor"), [
    ("en1990", "suction", 1.35), ("en1990", "none", 1.35), ("asce-lrfd", "suction", 1.2), ("asce-lrfd", "none", 1.4),
    ("asce-asd", "pressure", 1.0), ("global", "suction", 1.0),
])
def test_misfit_is_never_favourable(format: str, wind: str, factor: float) -> None:
    """EN 1990 (6.10), ASCE 7-16 2.3.1 and 2.4.1: the greatest factor on permanent actions beside that wind (from memory)."""
    table = combinations(format)
    assert {misfit_factor(c, table) for c in table if c.wind == wind} == {factor}


def test_it_adds_to_wind_and_weight_at_the_anchor() -> None:
    inputs = dict(w_anchor_suction=-1e-3 * ONE, w_anchor_pressure=ZERO, w_E_anchor=ZERO, w_G=ZERO, w_basis=A(["characteristic"], object),
                  net_area=ZERO, role=A(["fixed"], object), share=2e5 * ONE, share_min=2e5 * ONE, N_G=40 * ONE, V_Gk=ZERO, N_misfit=100 * ONE, hook_offset=10 * ONE,
                  heel=20 * ONE, format="en1990", seismic_standard="none")
    N_c, _, N_Ed, _, _ = anchor_forces(**inputs)  # type: ignore[arg-type]
    assert N_Ed[0] == pytest.approx(1.5 * (1.5 * 200 + 1.35 * 40 + 1.35 * 100))  # lever 1 + 10 / 20
    assert N_c.min() == pytest.approx(1.5 * (1.0 * 40 + 1.35 * 100))  # pressure relieves neither weight nor misfit


def test_it_adds_to_the_moment_at_anchors_and_in_the_field() -> None:
    common = dict(w_suction=-1e-3 * ONE, w_pressure=ZERO, w_E=ZERO, w_G=ZERO, w_basis=A(["characteristic"], object), m_hook=ZERO, m_clip=ZERO, m_corner=ZERO,
                  format="en1990", seismic_standard="none")
    m, _, place, _ = plate_moment(m_support=4e4 * ONE, m_field=2e4 * ONE, m_misfit_support=10 * ONE, m_misfit_field=5 * ONE, k_hole=1.2 * ONE, **common)  # type: ignore[arg-type]
    assert m[0] == pytest.approx(1.2 * (60 + 1.35 * 10)) and place[0] == "anchor"
    m, _, place, _ = plate_moment(m_support=1e4 * ONE, m_field=2e4 * ONE, m_misfit_support=10 * ONE, m_misfit_field=50 * ONE, k_hole=ONE, **common)  # type: ignore[arg-type]
    assert m[0] == pytest.approx(30 + 1.35 * 50) and place[0] == "field"


@pytest.mark.parametrize(("anchors", "tolerance"), [(FOUR, 0.2), (grid([300, 900], [150, 450]), 0.2), (SIX, 0.5), (NINE, 0.5)])
def test_the_rough_force_ranks(anchors: np.ndarray, tolerance: float, tmp_path: Path) -> None:
    """Against the solved one; estimates choose what is solved, never what passes."""
    D, k = 50e3 * 27e3 / (12 * 0.96), 1e4
    rough = float(force_per_error(anchors[None], A([720e3]), A([0.2]), A([D / k]))[0]) * D
    assert rough == pytest.approx(_force(50e3, 30.0, k, 1.0, tmp_path, anchors), rel=tolerance)
