"""Disc averages: exact on fields whose averages are known, and free of the radius they were taken at."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.plate import discs
from bimcheck.plate.hermite import Grid
from bimcheck.plate.points import solve
from bimcheck.plate.response import gather, respond
from bimcheck.plate.shape import Plate, build
from tests.plate.shapes import CASES, FOUR, PANEL, grid

PLATE = build([np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=float)], 0.2)


def _coefficients(g: Grid, x: list[np.ndarray], y: list[np.ndarray]) -> np.ndarray:
    """Hermite coefficients of a product f(x) g(y) from values and slopes at the nodes."""
    u = np.column_stack([x[0], x[1] * g.hx]).ravel()
    v = np.column_stack([y[0], y[1] * g.hy]).ravel()
    return np.outer(u, v)


def _average(plate: Plate, field: np.ndarray, at: list[float], radius: float) -> np.ndarray:
    return discs.averages(plate.grid, field.reshape(1, -1), np.array([at]), np.array([radius]), np.zeros(1, dtype=int))[0]


def test_averages_of_quadratic_and_quartic_fields() -> None:
    """w = x^2 y^2 about (x0, y0): average of w_xx = 2 (y0^2 + r^2 / 4), of w_xy = 4 x0 y0 (integrals over a disc)."""
    x, y = PLATE.grid.nodes
    field = _coefficients(PLATE.grid, [x**2, 2 * x], [y**2, 2 * y])
    r = 0.06
    outer, inner = _average(PLATE, field, [0.41, 0.37], r)
    np.testing.assert_allclose(outer, [2 * (0.37**2 + r**2 / 4), 2 * (0.41**2 + r**2 / 4), 4 * 0.41 * 0.37], rtol=1e-9)
    np.testing.assert_allclose(inner, [2 * (0.37**2 + r**2 / 8), 2 * (0.41**2 + r**2 / 8), 4 * 0.41 * 0.37], rtol=1e-9)


def test_the_deviator_is_carried_exactly_in_r_squared() -> None:
    """A deviator d0 + d2 (r / r1)^2 read at r1 and r1 / sqrt 2 is recovered at any radius."""
    average = np.array([[[3.0 + 1.0, 1.0 - 1.0, 0.5 + 0.2], [3.0 + 0.5, 1.0 - 0.5, 0.5 + 0.1]]])
    mean, deviator = discs.components(average, 0.25)
    assert mean[0] == pytest.approx(-1.25 * 2.0)
    np.testing.assert_allclose(deviator[0, 0], [-0.75 * 1.0, -0.75 * 0.5])
    np.testing.assert_allclose(deviator[0, 1], [-0.75 * 1.0, -0.75 * 0.2])


def test_the_shift_follows_the_field_of_a_point_force() -> None:
    """w = R r^2 ln r / 8 pi + q r^4 / 64 (D = 1): disc average of (Mx + My) / 2 by hand, from r 0.1 to c 0.01."""
    nu, force, q = 0.3, -0.7, 1.3  # the support's force acts against w

    def mean(r: float) -> float:
        return -(1 + nu) / 2 * (force / (2 * np.pi) * (np.log(r) + 0.5) + q * r**2 / 8)

    shifted = discs.moment(np.array([0.01]), np.array([0.1]), mean=np.array([mean(0.1)]), deviator=np.zeros((1, 2, 2)),
                           reaction=np.array([-force]), nu=nu, pressure=q)
    assert shifted[0] == pytest.approx(abs(mean(0.01)), rel=1e-12)


@pytest.mark.parametrize("name", ["panel-4", "panel-crooked", "gable"])
def test_the_anchor_moment_does_not_depend_on_the_radius_it_was_read_at(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Mean-value property of harmonic functions; 0.4 % is left to the grid."""
    rings, anchors = CASES[name]
    plate = build(rings, 0.2)
    values = []
    for cells in (2.0, 1.5, 1.2):
        monkeypatch.setattr(discs, "CELLS", cells)
        values.append(solve(plate, anchors).anchor_moment(10.0))
    np.testing.assert_allclose(values[1:], [values[0]] * 2, rtol=0.004)


def test_the_anchor_moment_does_not_depend_on_where_in_a_cell_the_anchor_sits() -> None:
    """Shifting the grid under one layout (an outline 0.01 mm off its own grid lines): 0.3 % is left to the grid."""
    values = [solve(build(PANEL, 0.2, cells), FOUR).anchor_moment(10.0)[0] for cells in (24, 26, 28, 30, 34)]
    np.testing.assert_allclose(values, np.mean(values), rtol=0.003)


def test_a_neighbour_within_the_disc_makes_it_smaller() -> None:
    """Two anchors 80 mm apart: discs of two cells (100 mm) would take the other's force in; 144 cells as reference."""
    anchors = grid([200, 1000], [260, 340])
    coarse, fine = (solve(build(PANEL, 0.2, cells), anchors) for cells in (24, 96))
    assert coarse.radius.max() <= 0.98 * 80 * (1 + 1e-12)
    np.testing.assert_allclose(coarse.anchor_moment(10.0), fine.anchor_moment(10.0), rtol=0.005)


def test_moments_fall_as_the_design_radius_grows() -> None:
    solved = solve(build(PANEL, 0.2), FOUR)
    values = [solved.anchor_moment(c)[0] for c in (5.0, 8.0, 12.0, 20.0)]
    assert values == sorted(values, reverse=True)


def test_an_anchor_on_the_edge_has_no_disc() -> None:
    solved = solve(build(PANEL, 0.2), grid([0, 1200], [0, 600]))
    assert np.isnan(solved.anchor_moment(10.0)).all() and np.isnan(solved.governing_moment(10.0, 20.0)).all()
    assert np.isfinite(solved.m_field).all()


def test_small_discs_are_flagged_coarse() -> None:
    plate = build([np.array([[0, 0], [3000, 0], [3000, 1500], [0, 1500]], dtype=float)], 0.2)
    assert solve(plate, grid([60, 2940], [300, 1200])).coarse.all()
    assert not solve(plate, grid([300, 2700], [300, 1200])).coarse.any()


def test_a_settlement_bends_without_pressure() -> None:
    """The shift's pressure term is left out: anchor moments from a settlement do not depend on the radius either."""
    plate = build(PANEL, 0.2)
    nine = CASES["panel-9"][1]
    moved = solve(plate, nine, spring=1e-4, settled=4)
    response = respond(plate, gather(plate, [nine]), np.array([1 / (1e-4 * 1200.0**2)]), np.eye(9)[4])
    mean = response.pressure
    assert mean == 0.0 and moved.pressure.tolist() == [0.0]
    fine = solve(build(PANEL, 0.2, 64), nine, spring=1e-4, settled=4)
    np.testing.assert_allclose(moved.anchor_moment(10.0), fine.anchor_moment(10.0), rtol=0.004)
