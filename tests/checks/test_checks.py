"""Checks and resistances by hand, both sides of each limit; nan never passes."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from bimcheck.checks import anchors as anchor_module
from bimcheck.checks import plate as plate_module
from bimcheck.checks.anchors import anchor_spacing, bolt, edge_distance, interaction_of, shear, tension, together
from bimcheck.checks.drilling import cavity, hardware_fits, residual_thickness
from bimcheck.checks.drilling import tests_cover as covered
from bimcheck.checks.joints import (
    bearing_points,
    engagement,
    hang_in_room,
    joint_under_movement,
    movement_of,
    panel_movement,
    slots,
)
from bimcheck.checks.plate import anchor_count, bending, deflection
from bimcheck.checks.result import bring_down, governing, result_of
from bimcheck.core.rule import rules_of
from bimcheck.core.tables import Table
from bimcheck.resistances.anchors import anchor_resistance, covering_group, interpolate, resistance
from bimcheck.resistances.plate import design_strength, plate_stiffness

A = np.array


def test_bending_by_hand() -> None:
    # m = 60 N mm/mm, t = 10 mm: 6 x 60 / 100 = 3.6 MPa against 38 / 1.8 (elastic section, unit width)
    u, sigma = bending(A([60.0]), A([10.0]), design_strength(A([38.0]), A([1.0]), A([1.8])))
    assert sigma[0] == pytest.approx(3.6) and u[0] == pytest.approx(3.6 / (38 / 1.8))


def test_deflection_against_the_span() -> None:
    D = plate_stiffness(A([50e3]), A([10.0]), A([0.2]))
    assert D[0] == pytest.approx(50e3 * 1000 / (12 * 0.96))  # E t^3 / 12 (1 - nu^2)
    u, w, limit = deflection(A([-1e-3]), A([0.5e-3]), A([0.0]), A([4e9]), D, A([600.0]), deflection=200.0)
    assert (w[0], limit[0], u[0]) == (pytest.approx(4e6 / D[0]), 3.0, pytest.approx(4e6 / D[0] / 3.0))


@pytest.mark.parametrize(("rule", "value"), [("linear", 0.9), ("power-1.5", 0.5**1.5 + 0.4**1.5), ("power-2", 0.41), ("1.2", 0.75)])
def test_interaction_forms(rule: str, value: float) -> None:
    assert interaction_of(0.5, 0.4, rule) == pytest.approx(value)  # by definition of each form


def test_interaction_is_taken_combination_by_combination() -> None:
    # worst tension and worst shear fall into different combinations: 0.8 + 0.1 and 0.2 + 0.5, not 0.8 + 0.5
    u = together(A([[80.0, 20.0]]), A([[10.0, 50.0]]), A([80.0]), A([100.0]), A([100.0]), interaction="linear")
    assert u[0] == pytest.approx(0.9)


def test_without_resistance_nothing_passes() -> None:
    assert np.isnan(tension(A([10.0]), A([np.nan]))[0]) and np.isnan(shear(A([10.0]), A([np.nan]))[0])
    assert shear(A([0.0]), A([np.nan]))[0] == 0  # nothing hangs there


def test_bolt_by_hand() -> None:
    d = 5.0
    u, sigma = bolt(A([400.0]), A([200.0]), A([3.0]), A([np.pi * d**3 / 32]), A([np.pi * d * d / 4]), A([180.0]))
    assert sigma[0] == pytest.approx(400 / 19.635 + 600 / 12.272, rel=1e-4) and u[0] == pytest.approx(sigma[0] / 180)


@pytest.mark.parametrize(("edge", "passes"), [(60.0, True), (59.99, False), (0.0, False)])
def test_edge_distance_takes_the_larger_of_item_and_series(edge: float, passes: bool) -> None:
    assert bool(edge_distance(A([edge]), A([50.0]), A([60.0]))[0][0] <= 1.0) is passes
    assert bool(anchor_spacing(A([edge]), A([60.0]), A([0.0]))[0][0] <= 1.0) is passes


@pytest.mark.parametrize(("t", "u"), [(20.0, 5 / 8), (17.0, 1.0), (12.0, np.inf), (np.nan, np.nan)])
def test_residual(t: float, u: float) -> None:
    got = residual_thickness(A([t]), A([0.0]), A([12.0]), A([5.0]))[0][0]
    assert got == u or (np.isnan(got) and np.isnan(u))


def test_no_item_and_no_tests_are_not_checked() -> None:
    assert np.isnan(hardware_fits(A(["too thin"], dtype=object))[0]) and hardware_fits(A([""], dtype=object))[0] == 0
    assert covered(A([-1, 0]), A([7.0, 7.0]), A([9.0, 9.0])).tolist()[1] == 0 and np.isnan(covered(A([-1]), A([7.0]), A([9.0]))[0])


def test_cavity_is_checked_only_where_it_is_known() -> None:
    assert cavity(A([10.0]), cavity_mm=20.0, cavity_known_mm=None)[0][0] == 0
    assert cavity(A([10.0]), cavity_mm=20.0, cavity_known_mm=16.0)[0][0] == pytest.approx(1.25)


def test_movement_by_hand() -> None:
    # L 1200, granite 8e-6 and aluminium 23.5e-6 over 65 K: 1200 x 15.5e-6 x 65 (expansion difference)
    assert movement_of(A([1200.0]), A([8e-6]), A([0.0]), 23.5e-6, 65, 65)[0] == pytest.approx(1200 * 15.5e-6 * 65)
    assert movement_of(A([1200.0]), A([1e-5]), A([1.5e-3]), 23.5e-6, 0, 0)[0] == pytest.approx(1.8)  # moisture alone


def test_greatest_strain_by_hand() -> None:
    # granite 8e-6 on aluminium 23.5e-6: 15.5e-6 x 65 K hot; fibre cement 10e-6 with 1.5 mm/m: 13.5e-6 x 65 + 1.5e-3
    warm = dict(T_0_C=15.0, T_max_C=80.0, T_min_C=-20.0, alpha_rail_per_K=23.5e-6)
    strain, movement = panel_movement(A([1200.0, 400.0]), A([600.0, 800.0]), A([8e-6, 10e-6]), A([0.0, 1.5e-3]), **warm)
    assert strain.tolist() == pytest.approx([15.5e-6 * 65, 13.5e-6 * 65 + 1.5e-3]) and movement.tolist() == pytest.approx([1200 * strain[0], 800 * strain[1]])
    # expanding more than twice as much as the rail: the shaded rail governs, 30e-6 x 65
    assert panel_movement(A([1000.0]), A([1.0]), A([30e-6]), A([0.0]), **(warm | dict(alpha_rail_per_K=10e-6)))[0][0] == pytest.approx(30e-6 * 65)


def test_slots_from_the_fixed_anchor_by_hand() -> None:
    # fixed at (900, 500); 1e-3 x 800 along x + 1 tolerance + 0.5 drift = 2.3 mm of 2; free one 1e-3 x 800 too; none at itself
    u, required = slots(A([1e-3] * 3), A([900.0, 100.0, 900.0]), A([500.0, 500.0, 100.0]), A([900.0] * 3), A([500.0] * 3), A([2.0] * 3),
                        tolerance_mm=1.0, drift_mm=0.5)
    assert required.tolist() == pytest.approx([0.0, 2.3, 1.9]) and u.tolist() == pytest.approx([0.0, 1.15, 0.95])
    assert slots(A([1e-3]), A([0.0]), A([0.0]), A([9.0]), A([9.0]), A([0.0]), tolerance_mm=1.0, drift_mm=0.0)[0][0] == 0  # not stated


def test_one_fixed_and_one_sliding_anchor() -> None:
    u, _ = bearing_points(A([2, 1, 2]), A([900.0, 900.0, 900.0]), A([100.0, 900.0, 900.0]))
    assert u[0] == 0 and np.isnan(u[1:]).all()  # one bearing point, or two above one another: never a pass


@pytest.mark.parametrize(("gap", "u"), [(8.0, 0.5), (4.0, 1.0), (3.0, 4 / 3), (-1.0, np.inf)])
def test_joint_under_movement(gap: float, u: float) -> None:
    nan = A([np.nan])
    assert joint_under_movement(A([3.0]), A([gap]), nan, nan, nan, tolerance_mm=1.0, drift_mm=0.0)[0][0] == pytest.approx(u)
    assert joint_under_movement(A([3.0]), nan, nan, nan, nan, tolerance_mm=1.0, drift_mm=0.0)[0][0] == 0


def test_hanging_in_and_engagement() -> None:
    need = hang_in_room(A([10.0]), hang_in=True, hook_engagement_mm=8.0, lift_clearance_mm=2.0, tolerance_mm=1.0)
    assert need[1][0] == 11.0 and need[0][0] == pytest.approx(1.1)
    # 1000 mm at 1e-5 over 65 K and 0.35 mm/m moisture: 1 mm of 10 is lost (length change)
    warm = dict(hook_engagement_mm=10.0, engagement_left_mm=4.5, T_0_C=15.0, T_max_C=80.0, T_min_C=-20.0)
    assert engagement(A([1000.0]), A([1e-5]), A([3.5e-4]), **warm)[0][0] == pytest.approx(0.5)
    assert engagement(A([1000.0]), A([1e-5]), A([1e-2]), **warm)[0][0] == np.inf


@pytest.mark.parametrize(("corners", "n", "passes"), [(4, 4, True), (4, 3, False), (3, 3, True), (6, 3, False)])
def test_three_anchors_only_on_triangles(corners: int, n: int, passes: bool) -> None:
    assert bool(anchor_count(A([n]), A([corners]), least_anchors=4)[0][0] <= 1) is passes


def _test(edge: float, tension: float) -> SimpleNamespace:
    return SimpleNamespace(edge_mm=edge, tension_kN=tension)


def _group(t: float, h: float, spacing: float = np.nan, *tests: SimpleNamespace) -> SimpleNamespace:
    return SimpleNamespace(material=0, thickness=t, embedment=h, spacing=spacing, tests=tests)


def test_the_lower_tested_value_over_thickness_and_embedment() -> None:
    groups = [_group(9, 5.5), _group(11, 7), _group(14, 7)]
    found = covering_group(A([0, 0, 0, 0, 1]), A([12.0, 8.9, 14.0, 20.0, 12.0]), A([7.0, 7.0, 7.0, 5.5, 7.0]), groups)
    assert found.tolist() == [1, -1, 2, 0, -1]  # never a chord between tests, never above thickness or embedment


def test_linear_over_edge_distance_between_tests_and_never_beyond() -> None:
    got = interpolate(A([49.0, 50.0, 75.0, 100.0, 200.0]), [50, 100], [1000.0, 1600.0])
    assert np.isnan(got[0]) and got[1:].tolist() == [1000.0, 1300.0, 1600.0, 1600.0]


def test_linear_over_spacing_between_tests() -> None:
    near = _group(11, 7, 80.0, _test(50, 1.0), _test(100, 2.0))
    far = _group(11, 7, 160.0, _test(50, 3.0), _test(100, 4.0))
    got = resistance(A([50.0, 50.0, 75.0, 100.0]), A([79.0, 80.0, 120.0, 400.0]), [far, near], lambda t: t.tension_kN)
    assert np.isnan(got[0]) and got[1:].tolist() == [1.0, 2.5, 4.0]  # at 75 / 120: halfway between 1.5 and 3.5


def _rules() -> list[object]:
    wanted = {"bending", "tension"}
    return [r for module in (plate_module, anchor_module) for r in rules_of(module) if r.name in wanted]


def test_results_never_pass_on_nan() -> None:
    rules = _rules()
    panels = Table("panels", 4, {})
    candidates = Table("candidates", 3, {"panel": A([0, 1, 2]), "u_bending": A([0.5, 0.6, 1.2])})
    anchors = Table("anchors", 6, {"candidate": A([0, 0, 1, 1, 2, 2]), "u_tension": A([0.4, 0.9, 0.3, np.nan, 0.1, 0.2])})
    down = bring_down(rules, panels, candidates, anchors)  # type: ignore[arg-type]
    name, u, lacking = governing(down, rules)  # type: ignore[arg-type]
    assert name.tolist()[:3] == ["tension", "bending", "bending"] and u[:3].tolist() == [0.9, 0.6, 1.2]
    empty = np.full(4, "", dtype=object)
    assert result_of(u, lacking, empty, np.zeros(4, bool)).tolist() == ["pass", "not_checked", "fail", "not_checked"]
    assert result_of(u, lacking, A(["assumed:x", "", "", ""], dtype=object), A([False, False, False, True])).tolist() == [
        "not_checked", "not_checked", "fail", "fail"]


@pytest.mark.parametrize(("conditioned", "factor"), [(True, 1.0), (False, 0.6)])
def test_a_dry_series_is_reduced_by_the_conditioning_factors(conditioned: bool, factor: float) -> None:
    # R_d = R_k eta / gamma_M unless the series itself was conditioned: 2 kN, eta 0.75 x 0.8, gamma 2
    row = SimpleNamespace(edge_mm=50.0, tension_kN=2.0, shear_kN=1.0, kind="characteristic", mean_kN=None, conditioned=conditioned)
    group = SimpleNamespace(material=0, thickness=9.0, embedment=5.0, spacing=np.nan, tests=(row,), eta=0.75 * 0.8)
    N_Rd, V_Rd = anchor_resistance(A([0]), A([60.0]), A([200.0]), A([2.0]), format="en1990", tests=(group,))
    assert N_Rd[0] == pytest.approx(1000 * factor) and V_Rd[0] == pytest.approx(500 * factor)


def test_only_what_the_format_asks_for_is_read() -> None:
    row = SimpleNamespace(edge_mm=50.0, tension_kN=3.0, shear_kN=None, kind="mean", mean_kN=None, conditioned=True)
    group = SimpleNamespace(material=0, thickness=9.0, embedment=5.0, spacing=np.nan, tests=(row,), eta=1.0)
    inputs = (A([0]), A([60.0]), A([200.0]), A([3.0]))
    assert anchor_resistance(*inputs, format="global", tests=(group,))[0][0] == pytest.approx(1000)  # mean over F
    assert np.isnan(anchor_resistance(*inputs, format="en1990", tests=(group,))[0][0])  # a mean is no characteristic value
    assert np.isnan(anchor_resistance(*inputs, format="global", tests=(group,))[1][0])  # shear not tested
