"""What holds for every thin plate, whatever the grid: balance, symmetry, scale, superposition, limits."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bimcheck.core.errors import InputError
from bimcheck.plate.points import solve, solve_many
from bimcheck.plate.response import gather, respond
from bimcheck.plate.shape import build
from tests.plate.shapes import CASES, FOUR, NINE, PANEL, SIX, SQUARE, grid

C = 10.0  # mm, a design radius


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("spring", [np.inf, 1e-4])
def test_reactions_balance_the_pressure(name: str, spring: float) -> None:
    """Statics: sum R = q A and sum R x = q A x_s, to 1e-8 of the load."""
    rings, anchors = CASES[name]
    reaction = solve(build(rings, 0.2), anchors, spring=spring).reaction
    plate = shapely.Polygon(rings[0], rings[1:])
    arm = np.array([plate.centroid.x, plate.centroid.y])
    size = np.ptp(rings[0], axis=0).max()
    assert abs(reaction.sum() / plate.area - 1) < 1e-8
    assert np.abs(reaction @ anchors - plate.area * arm).max() < 1e-8 * plate.area * size


@pytest.mark.parametrize("name", ["panel-6", "pierced"])
def test_springs_yield_what_they_carry(name: str) -> None:
    """R_i = k_i w_i for each spring, w read from the field just beside the near field (definition of a spring)."""
    rings, anchors = CASES[name]
    plate = build(rings, 0.2)
    response = respond(plate, gather(plate, [anchors]), np.array([1 / (1e-4 * plate.size**2)]))
    at = response.layouts.points[response.layouts.which]
    w = response.deflection(at[None], np.zeros(1, dtype=int))[0] + response.near_field(at, 0)
    np.testing.assert_allclose(w, response.yielded, rtol=1e-8)


def test_section_average_moments_follow_from_statics() -> None:
    """On the line of the supports - q c^2 / 2, at midspan q (L - 2c)^2 / 8 - q c^2 / 2 (beam statics across the width)."""
    plate = build(PANEL, 0.2)
    length, c = 1200.0, 180.0
    response = respond(plate, gather(plate, [FOUR]), np.zeros(1))
    y = (np.arange(600) + 0.5) / 600 * plate.polygon.bounds[3]
    for x, expected in ((length / 2, (length - 2 * c) ** 2 / 8 - c**2 / 2), (60.0, -60.0**2 / 2)):
        points = np.column_stack([np.full_like(y, x / length), y])
        average = response.smooth_moments(points)[0, :, 0].mean() * length**2
        assert average == pytest.approx(expected, abs=0.002 * length**2 / 8)


def test_average_moments_at_supports_and_midspan_agree_at_the_best_inset() -> None:
    """c / L = (sqrt 2 - 1) / 2 = 0.2071: hogging over the supports equals sagging at midspan (beam statics)."""
    c = 1200 * (np.sqrt(2) - 1) / 2
    plate = build(PANEL, 0.2)
    response = respond(plate, gather(plate, [grid([c, 1200 - c], [90, 510])]), np.zeros(1))
    y = (np.arange(400) + 0.5) / 800
    middle = response.smooth_moments(np.column_stack([np.full_like(y, 0.5), y]))[0, :, 0].mean()
    beside = [response.smooth_moments(np.column_stack([np.full_like(y, c / 1200 + d), y]))[0, :, 0].mean() for d in (-0.1, 0.1)]
    expected = [-((c / 1200 - 0.1) ** 2) / 2, middle - (0.5 - c / 1200 - 0.1) ** 2 / 2]
    np.testing.assert_allclose(beside, expected, atol=2e-4)
    assert middle == pytest.approx((c / 1200) ** 2 / 2, abs=1e-4)


@pytest.mark.parametrize("name", ["panel-crooked", "notched", "pierced"])
@pytest.mark.parametrize("move", [np.diag([-1, 1]), np.array([[0, -1], [1, 0]])], ids=["mirror", "turn"])
def test_mirror_and_turn_change_nothing(name: str, move: np.ndarray) -> None:
    rings, anchors = CASES[name]
    one = solve(build(rings, 0.2), anchors)
    other = solve(build([r @ move.T + [70.0, -30.0] for r in rings], 0.2), anchors @ move.T + [70.0, -30.0])
    np.testing.assert_allclose(other.reaction, one.reaction, rtol=1e-7)
    np.testing.assert_allclose(other.anchor_moment(C), one.anchor_moment(C), rtol=2e-4)
    for column in ("m_field", "w_max", "slope"):
        np.testing.assert_allclose(getattr(other, column), getattr(one, column), rtol=1e-6)


@pytest.mark.parametrize("name", ["panel-6", "gable"])
def test_scale(name: str) -> None:
    """Twice the size: forces and moments x 4, deflections x 16, slopes x 8 (dimensions of q L^2, q L^4 / D)."""
    rings, anchors = CASES[name]
    one = solve(build(rings, 0.2), anchors)
    two = solve(build([2 * r for r in rings], 0.2), 2 * anchors)
    np.testing.assert_allclose(two.reaction, 4 * one.reaction, rtol=1e-9)
    np.testing.assert_allclose(two.anchor_moment(2 * C), 4 * one.anchor_moment(C), rtol=1e-9)
    np.testing.assert_allclose(two.w_max, 16 * one.w_max, rtol=1e-9)
    np.testing.assert_allclose(two.slope, 8 * one.slope, rtol=1e-9)


def test_superposition_of_pressure_and_settlement() -> None:
    """A spring of k at a settled anchor: pressure and settlement add (linear elasticity); here the settlement that
    unloads the anchor leaves what the layout carries without it."""
    plate, k, lost = build(PANEL, 0.2), 2e-4, 2
    loaded, moved = solve(plate, SIX, spring=k), solve(plate, SIX, spring=k, settled=lost)
    without = solve(plate, SIX, spring=k, lost=lost)
    share = -loaded.reaction[lost] / moved.reaction[lost]
    np.testing.assert_allclose(loaded.reaction + share * moved.reaction, without.reaction, atol=1e-7 * 720000)


def test_settlement_forces_sum_to_zero_and_answer_each_other() -> None:
    """No resultant without load; force at i for a movement at j equals that at j for i (Maxwell and Betti)."""
    plate = build(PANEL, 0.2)
    moved = solve_many(plate, [SIX] * 6, spring=1e-4, settled=range(6))
    forces = moved.reaction.reshape(6, 6)
    assert np.abs(forces.sum(axis=1)).max() < 1e-8 * np.abs(forces).max()
    assert np.abs(forces @ SIX).max() < 1e-8 * np.abs(forces).max() * 1200
    np.testing.assert_allclose(forces, forces.T, atol=1e-10 * np.abs(forces).max())
    assert np.all(np.diag(forces) < 0)  # an anchor that gives way under the load carries less


def test_settlement_of_a_statically_determinate_plate_costs_nothing() -> None:
    three = FOUR[:3]
    moved = solve(build(PANEL, 0.2), three, settled=1)
    assert np.abs(moved.reaction).max() * 1200**2 < 1e-6


def test_stiffer_springs_approach_rigid() -> None:
    plate = build(PANEL, 0.2)
    rigid = solve(plate, NINE).reaction
    gaps = [np.abs(solve(plate, NINE, spring=k).reaction - rigid).max() for k in (1e-4, 1e-3, 1e-2, 1e-1, 1e2)]
    assert all(a > b for a, b in pairwise(gaps))
    assert gaps[-1] < 1e-3 * rigid.max()


def test_softest_springs_approach_a_rigid_body() -> None:
    """Springs far softer than the plate share the load as under a rigid plate: q A / n on a symmetric layout (statics)."""
    reaction = solve(build(PANEL, 0.2), NINE, spring=1e-12).reaction
    np.testing.assert_allclose(reaction, 720000 / 9, rtol=1e-4)


@pytest.mark.parametrize("name", CASES)
def test_twice_the_cells_change_the_governing_moment_by_less_than_half_a_percent(name: str) -> None:
    rings, anchors = CASES[name]
    one, two = (solve(build(rings, 0.2, cells), anchors) for cells in (24, 48))
    np.testing.assert_allclose(one.anchor_moment(C), two.anchor_moment(C), rtol=0.005)
    if name not in ("notched", "pierced"):  # re-entrant corners have their own tolerance (test_corners.py)
        np.testing.assert_allclose(one.governing_moment(C, 20.0), two.governing_moment(C, 20.0), rtol=0.005)
    np.testing.assert_allclose(one.w_max, two.w_max, rtol=0.01)


@pytest.mark.parametrize("anchors", [FOUR[:2], FOUR[:1], grid([100, 400, 900], [300]), np.array([[0, 0], [300, 150], [1200, 600.5]])],
                         ids=["two", "one", "row", "nearly a row"])
def test_a_mechanism_is_reported_and_never_solved(anchors: np.ndarray) -> None:
    plate = build(PANEL, 0.2)
    both = solve_many(plate, [anchors, FOUR])
    assert both.mechanism.tolist() == [True, False]
    assert np.isnan(both.governing_moment(C, 20.0)).tolist() == [True, False]
    assert np.isnan(both.reaction[: len(anchors)]).all() and np.isfinite(both.reaction[len(anchors):]).all()
    assert np.isnan(both.w_max).tolist() == np.isnan(both.slope).tolist() == [True, False]


def test_losing_one_of_three_is_a_mechanism() -> None:
    assert solve(build(PANEL, 0.2), FOUR[:3], lost=0).mechanism.all()


def test_a_lost_anchor_is_the_layout_without_it() -> None:
    plate = build(PANEL, 0.2)
    lost, without = solve(plate, SIX, lost=4), solve(plate, np.delete(SIX, 4, axis=0))
    assert lost.reaction[4] == 0 and np.isnan(lost.anchor_moment(C)[4])
    np.testing.assert_allclose(np.delete(lost.reaction, 4), without.reaction, rtol=1e-12)
    np.testing.assert_allclose(lost.governing_moment(C, 20.0), without.governing_moment(C, 20.0), rtol=1e-12)


def test_an_anchor_off_the_plate_is_reported() -> None:
    rings, anchors = CASES["pierced"]
    off = anchors.copy()
    off[0] = [600, 360]  # in the cut-out
    solved = solve_many(build(rings, 0.2), [off, anchors])
    assert solved.outside.tolist() == [True, False]
    assert np.isnan(solved.governing_moment(C, 20.0)).tolist() == [True, False]


def test_a_radius_beyond_the_edge_is_flagged() -> None:
    solved = solve(build(SQUARE, 0.2), grid([40, 860], [200, 700]))
    assert solved.beyond_edge(39.0).tolist() == [False]
    assert solved.beyond_edge(40.0).tolist() == [True]


@pytest.mark.parametrize(("rings", "anchors"), [
    ([np.array([[0, 0], [100, 100], [100, 0], [0, 100]])], FOUR),
    ([np.zeros((4, 2))], FOUR),
    ([np.array([[0, 0], [np.nan, 100], [100, 100]])], FOUR),
    ([np.array([[0, 0], [100, 100.0]])], FOUR),
    (PANEL, np.vstack([FOUR, FOUR[:1]])),
    (PANEL, np.vstack([FOUR, [[np.nan, 10.0]]])),
], ids=["bow tie", "no extent", "not a number", "two points", "two anchors in one place", "an anchor nowhere"])
def test_bad_input_is_refused(rings: list[np.ndarray], anchors: np.ndarray) -> None:
    with pytest.raises(InputError):
        solve(build(rings, 0.2), anchors)


def test_nothing_to_solve() -> None:
    plate = build(PANEL, 0.2)
    assert len(solve_many(plate, [])) == 0 and solve_many(plate, []).governing_moment(C, 20.0).shape == (0,)
    assert solve_many(plate, [np.empty((0, 2)), FOUR]).mechanism.tolist() == [True, False]
    assert solve_many(plate, [np.empty((0, 2))]).mechanism.tolist() == [True]


def test_a_closed_ring_is_the_open_one() -> None:
    closed = build([np.vstack([PANEL[0], PANEL[0][:1]])], 0.2)
    assert closed.whole
    np.testing.assert_allclose(solve(closed, SIX).reaction, solve(build(PANEL, 0.2), SIX).reaction, rtol=1e-12)


def test_layouts_solved_together_are_those_solved_alone() -> None:
    plate = build(PANEL, 0.2)
    layouts = [FOUR, SIX, NINE, CASES["panel-crooked"][1]]
    together = solve_many(plate, layouts, spring=[np.inf, 1e-4, np.inf, 1e-3])
    alone = [solve(plate, a, spring=k) for a, k in zip(layouts, [np.inf, 1e-4, np.inf, 1e-3], strict=True)]
    np.testing.assert_allclose(together.reaction, np.concatenate([s.reaction for s in alone]), rtol=1e-9)
    np.testing.assert_allclose(together.anchor_moment(C), np.concatenate([s.anchor_moment(C) for s in alone]), rtol=1e-8)
    np.testing.assert_allclose(together.slope, np.concatenate([s.slope for s in alone]), rtol=1e-8)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_any_outline_on_any_anchors_balances(seed: int) -> None:
    """Statics for random star-shaped outlines with 3 to 8 anchors: resultant and moments to 1e-8."""
    random = np.random.default_rng(seed)
    corners = int(random.integers(4, 9))
    angle = np.sort(random.uniform(0, 2 * np.pi, corners) / 8 + np.arange(corners) * 2 * np.pi / corners)
    ring = 700 * random.uniform(0.6, 1.0, corners)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    turn = random.uniform(0, 2 * np.pi) + np.arange(n := int(random.integers(3, 9))) * 2 * np.pi / n
    anchors = random.uniform(120, 250, n)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    solved = solve(build([ring], random.uniform(0.1, 0.35)), anchors)
    plate = shapely.Polygon(ring)
    assert not solved.mechanism[0] and not solved.outside[0]
    centre = np.array([plate.centroid.x, plate.centroid.y])
    assert abs(solved.reaction.sum() / plate.area - 1) < 1e-8
    assert np.abs(solved.reaction @ (anchors - centre)).max() < 1e-8 * plate.area * 1400
    assert np.isfinite(solved.governing_moment(C, 20.0)[0]) and np.isfinite(solved.slope[0])
