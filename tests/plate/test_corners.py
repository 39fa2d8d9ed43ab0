"""Re-entrant corners: the exponent from the free-edge conditions themselves, the fit against a fine grid."""

from __future__ import annotations

import importlib

import numpy as np
import pytest

from bimcheck.plate.corners import CIRCLES, RAYS, reentrant, singular_exponent
from bimcheck.plate.points import solve
from bimcheck.plate.shape import build
from tests.plate.shapes import CASES, FOUR, NOTCHED, PANEL, box, grid


def _free_edges(lam: float, angle: float, nu: float, odd: bool) -> float:
    """Determinant of M_n = V_n = 0 on both edges for w = r^(lam + 1) F(theta), F = A f((lam + 1) theta) + B f((lam - 1) theta)
    (Kirchhoff's free-edge conditions, written out)."""
    half = angle / 2
    columns = []
    for k in (lam + 1, lam - 1):
        s, c = np.sin(k * half), np.cos(k * half)
        f, f1, f2, f3 = (s, k * c, -k * k * s, -(k**3) * c) if odd else (c, -k * s, -k * k * c, k**3 * s)
        moment = (lam + 1) * f + f2 + nu * lam * (lam + 1) * f
        shear = (lam + 1) ** 2 * f1 + f3 + (1 - nu) * lam * (lam - 1) * f1
        columns.append((moment, shear))
    (a, c), (b, d) = columns
    return a * d - b * c


@pytest.mark.parametrize("degrees", [225, 270, 300])
@pytest.mark.parametrize("nu", [0.1, 0.2, 0.3])
def test_the_exponent_satisfies_the_free_edge_conditions(degrees: float, nu: float) -> None:
    angle = np.radians(degrees)
    lam = singular_exponent(angle, nu)
    signs = [np.sign(_free_edges(lam - 1e-6, angle, nu, odd)) != np.sign(_free_edges(lam + 1e-6, angle, nu, odd)) for odd in (True, False)]
    assert any(signs)
    below = np.linspace(0.45, lam - 1e-3, 200)
    for odd in (True, False):
        values = np.array([_free_edges(x, angle, nu, odd) for x in below])
        assert np.all(values[1:] * values[:-1] > 0)  # none smaller


def test_a_crack_has_exponent_one_half() -> None:
    """Sharp limit, angle 2 pi: the classical square root of r (Williams 1957)."""
    assert singular_exponent(2 * np.pi - 1e-9, 0.25) == pytest.approx(0.5, abs=1e-6)


def test_only_re_entrant_corners_count() -> None:
    notched, pierced, panel = (build(CASES[n][0], 0.2).corners for n in ("notched", "pierced", "panel-4"))
    assert (len(notched.at), len(pierced.at), len(panel.at)) == (1, 4, 0)
    np.testing.assert_allclose(notched.at[0], [0.5, 0.45])
    assert reentrant(build(NOTCHED, 0.2).grid, build(NOTCHED, 0.2).polygon, 0.2).exponent == pytest.approx(0.633, abs=1e-3)


HOLES = {"wide": (0.37, 0.22, 0.58, 0.41), "slot": (0.45, 0.15, 0.6, 0.35), "low": (0.3, 0.25, 0.7, 0.35)}


@pytest.mark.parametrize("hole", HOLES)
def test_the_fit_against_an_independent_element(hole: str) -> None:
    """Argyris (quintic, scikit-fem) on a mesh halved four times towards the corners, at 6 to 20 mm of a metre: 3 %."""
    pytest.importorskip("skfem", reason="needs scikit-fem")
    solve_peer = importlib.import_module("tests.plate.argyris").solve_peer
    x0, y0, x1, y1 = HOLES[hole]
    anchors = grid([0.15, 0.85], [0.1, 0.5])
    peer = solve_peer(1.0, 0.6, anchors, 0.2, 0.1, HOLES[hole], graded=True)
    solved = solve(build([box(0, 0, 1, 0.6), box(*HOLES[hole])], 0.2), anchors)
    fan = np.radians(270) * RAYS
    corners = ((x0, y0, 90), (x1, y0, 180), (x1, y1, 270), (x0, y1, 0))  # where the plate begins, counter-clockwise
    for r in (0.006, 0.01, 0.015, 0.02):
        expected = max(peer.ring_moment(np.array([x, y]), r, np.radians(start) + fan) for x, y, start in corners)
        assert solved.corner_moment(2 * r)[0] == pytest.approx(expected, rel=0.03), r


@pytest.mark.parametrize("hole", [box(500, 100, 700, 200), box(480, 190, 730, 400), box(485, 195, 705, 330)])
def test_the_fit_against_a_fine_grid(hole: np.ndarray) -> None:
    """10 mm from the corners of a cut-out, 32 cells against 120, whose circles reach 10 mm: 5 %."""
    rings = [*PANEL, hole]
    fine = build(rings, 0.2, 120)
    assert fine.corners.radius * 1200 * CIRCLES[-1] == pytest.approx(9.0)
    expected = solve(fine, FOUR).corner_moment(18.0)[0]
    assert solve(build(rings, 0.2), FOUR).corner_moment(18.0)[0] == pytest.approx(expected, rel=0.05)


def test_corner_moments_grow_towards_the_corner_and_can_govern() -> None:
    solved = solve(build([*PANEL, box(480, 190, 730, 400)], 0.2), FOUR)
    values = [solved.corner_moment(t)[0] for t in (60.0, 40.0, 20.0, 10.0)]
    assert values == sorted(values)
    assert solved.governing_moment(10.0, 20.0)[0] == pytest.approx(values[2])
