"""Outward side, facades, corners and ends on plans whose answers follow from how they are laid out here."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.core.tables import Ragged
from bimcheck.relate.facts import Related, SiteFacts
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.relate.build import Made, bodies, box

Z = (0.0, 3500.0, 7000.0)
RECTANGLE = [[0, 0], [12000, 0], [12000, 8000], [0, 8000]]
L_PLAN = [[0, 0], [12000, 0], [12000, 5000], [5000, 5000], [5000, 9000], [0, 9000]]
U_PLAN = [[0, 0], [15000, 0], [15000, 12000], [11000, 12000], [11000, 5000], [4000, 5000], [4000, 12000], [0, 12000]]
YARD = [[4000, 3000], [4000, 9000], [11000, 9000], [11000, 3000]]


def run(made: Made, *obstacles: Any, **more: Any) -> Related:
    return relate(made.table(**more), bodies(*obstacles), SiteFacts(ground_setting=0.0), Relate())


def normals_hold(made: Made, got: Related) -> bool:
    return bool(np.allclose(got.elements["n"], [r["n"] for r in made.rows], atol=1e-9))


@pytest.mark.parametrize("plan", [RECTANGLE, L_PLAN, U_PLAN])
def test_ring_gives_sides_corners_and_ends(plan: list[list[float]]) -> None:
    made = Made()
    walls = made.ring(plan, Z)
    got = run(made)
    e = got.elements
    assert normals_hold(made, got) and e["side_known"].all()
    assert got.facades.n == len(plan) and got.building.ring_source == "panels"
    for wall in walls:  # the corner lies 50 mm beyond the end panels, see Made.wall
        assert len(set(e["facade"][wall])) == 1
        assert np.isclose(e["s_left"][wall].min(), 50.0) and np.isclose(e["s_right"][wall].min(), 50.0)
    assert got.building.h == pytest.approx(6996.0)  # top row's upper edge less half a joint


def test_reentrant_ends_do_not_count_as_corners() -> None:
    made = Made()
    walls = made.ring(U_PLAN, Z)
    got = run(made)
    bottom = walls[4]  # of the notch: both ends re-entrant
    assert np.isnan(got.elements["corner_distance"][bottom]).all()
    f = got.elements["facade_index"][bottom[0]]
    assert (got.facades["facade_left"][f], got.facades["facade_right"][f]) == ("re-entrant", "re-entrant")
    assert got.facades["facade_kind"][f] == "recess"
    assert got.facades["facade_b"][f] == pytest.approx(15000.0) and got.facades["facade_d"][f] == pytest.approx(12000.0)


def test_courtyard_faces_its_own_middle() -> None:
    made = Made()
    made.ring([[0, 0], [15000, 0], [15000, 12000], [0, 12000]], Z)
    walls = made.ring(YARD, Z)
    got = run(made)
    assert normals_hold(made, got)
    f = got.elements["facade_index"][walls[0][0]]
    assert got.facades["facade_kind"][f] == "courtyard"
    assert got.facades["facade_left"][f] == "re-entrant"
    assert sorted((got.facades["facade_b"][f], got.facades["facade_d"][f])) == pytest.approx([12000.0, 15000.0])


def test_slab_that_fills_the_notch_does_not_turn_the_notch() -> None:
    """Authors draw slabs as plain rectangles."""
    made = Made()
    made.ring(L_PLAN, Z)
    assert normals_hold(made, run(made, box([300, 300, 3300], [11700, 8700, 3500], "slab")))


def test_tower_flush_on_three_sides_of_its_podium() -> None:
    made = Made()
    made.ring([[0, 0], [20000, 0], [20000, 10000], [0, 10000]], (0.0, 4000.0))
    tower = made.ring([[0, 0], [8000, 0], [8000, 10000], [0, 10000]], (4000.0, 7500.0, 11000.0))
    got = run(made)
    assert normals_hold(made, got) and got.elements["side_known"].all()
    front = tower[0]
    assert got.elements["s_right"][front].min() == pytest.approx(50.0)  # to the tower's corner, not to the podium's
    assert got.facades["facade_right"][got.elements["facade_index"][front[0]]] == "external"


def test_tower_set_back_on_all_sides_is_no_courtyard() -> None:
    made = Made()
    made.ring([[0, 0], [20000, 0], [20000, 10000], [0, 10000]], (0.0, 4000.0))
    tower = made.ring([[3000, 3000], [9000, 3000], [9000, 7000], [3000, 7000]], (4000.0, 7500.0, 11000.0))
    got = run(made)
    assert normals_hold(made, got)
    f = got.elements["facade_index"][tower[0][0]]
    assert got.facades["facade_kind"][f] == "outer" and got.facades["facade_b"][f] == pytest.approx(6000.0)


def test_unclad_side_is_closed_by_the_slabs() -> None:
    made = Made()
    walls = made.ring(RECTANGLE, Z, skip=(0,))
    got = run(made, box([300, 300, 3300], [11700, 7700, 3500], "slab"))
    assert normals_hold(made, got) and got.building.ring_source == "structure" and got.building.known
    assert got.elements["s_left"][walls[1]].min() == pytest.approx(50.0)  # slab edge moved out by the 300 mm of the clad sides


def test_unclad_sides_of_an_l_plan_beside_a_plain_slab() -> None:
    made = Made()
    walls = made.ring(L_PLAN, Z, skip=(0, 5))
    got = run(made, box([300, 300, 3300], [11700, 8700, 3500], "slab"))
    assert normals_hold(made, got) and got.building.ring_source == "structure"
    assert got.elements["s_left"][walls[1]].min() == pytest.approx(50.0)
    assert got.elements["s_right"][walls[4]].min() == pytest.approx(50.0)
    assert got.building.least_plan == pytest.approx(9000.0)


def test_open_ring_says_so() -> None:
    made = Made()
    made.ring(RECTANGLE, Z, skip=(0,))
    got = run(made)
    assert normals_hold(made, got) and not got.building.known
    assert [i.rule for i in got.issues] == ["building-uncertain"]


def test_single_facade_is_turned_by_what_stands_behind() -> None:
    made = Made()
    made.wall([0, 0], [9000, 0], Z)
    got = run(made, *(box([x, 100, 0], [x + 60, 160, 7000], "rail") for x in (500, 4000, 8000)))
    assert normals_hold(made, got) and got.elements["side_known"].all()


def test_single_facade_without_anything_behind_is_uncertain() -> None:
    made = Made()
    made.wall([0, 0], [9000, 0], Z)
    got = run(made)
    assert not got.elements["side_known"].any()
    assert (got.joints["gap"] > 0).all() and got.joints.n >= 2 * (6 + 5)  # one side or the other, but one for all
    assert {i.rule for i in got.issues} == {"side-uncertain", "building-uncertain"}


def test_lowest_panel_is_only_a_guess_of_the_ground() -> None:
    made = Made()
    made.ring(RECTANGLE, Z)
    got = relate(made.table(), bodies(), SiteFacts(), Relate())
    assert got.building.ground_source == "lowest panel" and not got.building.known


def test_stepped_back_row_stays_in_its_facade() -> None:
    made = Made()
    made.ring(RECTANGLE, Z)
    made.wall([0, 40], [12000, 40], (7000.0, 8000.0))
    got = run(made)
    assert got.facades.n == 4 and normals_hold(made, got)


def test_facade_with_a_jog() -> None:
    made = Made()
    plan = [[0, 0], [6000, 0], [6000, 400], [12000, 400], [12000, 8000], [0, 8000]]
    made.ring(plan, Z)
    got = run(made)
    assert normals_hold(made, got) and got.building.ring_source == "panels"
    assert set(got.facades["facade_kind"]) == {"outer"}  # a shallow step is no recess


def test_many_sided_tower() -> None:
    a = np.linspace(0, 2 * np.pi, 25)[:-1]
    made = Made()
    made.ring([[9000 * np.cos(t), 9000 * np.sin(t)] for t in a], Z, module=3000.0, inset=20.0)
    got = run(made)
    assert normals_hold(made, got) and got.facades.n == 24
    assert np.allclose(got.elements["corner_distance"], 20.0)  # bends of 15 degrees are corners, see SMOOTH


def test_leaning_building() -> None:
    made = Made()
    n = np.array([[0, -1, 0.2], [1, 0, 0.2], [0, 1, 0.2], [-1, 0, 0.2]])
    for k, (p, q) in enumerate(zip(RECTANGLE, [*RECTANGLE[1:], RECTANGLE[0]], strict=True)):
        u = (np.array(q) - p) / np.linalg.norm(np.array(q) - p)
        for x in np.arange(2000, np.linalg.norm(np.array(q) - p) - 2500, 1508.0):
            up = np.cross(n[k] / np.linalg.norm(n[k]), [*u, 0.0])
            for row in range(2):
                made.panel(np.array([*(p + u * x), 0.0]) + up * 2008 * row, n[k], (1500.0, 2000.0))
    got = run(made)
    assert normals_hold(made, got) and got.facades.n == 4
    assert (got.elements["facade_index"] >= 0).all()


def test_reveals_and_returns_are_told_apart() -> None:
    made = Made()
    # Two piers beside a window that runs over the whole height, its reveal on the right pier's left flank.
    made.ring(RECTANGLE, Z, skip=(0,))
    made.wall([0, 0], [5000, 0], Z)
    made.wall([7000, 0], [12000, 0], Z)
    left = made.panel([5000, 40, 0], [1, 0, 0], (250.0, 6990.0))
    right = made.panel([7000, 290, 0], [-1, 0, 0], (250.0, 6990.0))
    got = run(made, box([5100, 200, 0], [6900, 270, 7000], "frame"), box([300, 300, 3300], [11700, 7700, 3500], "slab"))
    assert list(got.elements["place"][[left, right]]) == ["reveal", "reveal"]
    assert normals_hold(made, got)


def test_same_table_however_the_model_is_turned_shifted_or_listed() -> None:
    made = Made()
    made.ring(L_PLAN, Z)
    base = run(made).elements
    a = np.radians(33.7)
    turn = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    moved = run(made, move=lambda p: p @ turn.T + [6e9, -4e9, 0.0], seed=7).elements
    for name in ("width", "height", "z", "s_left", "s_right", "corner_distance", "joint_left", "joint_top", "net_area"):
        assert np.allclose(base[name], moved[name], atol=1e-3, equal_nan=True), name
    assert list(base["facade"]) == list(moved["facade"])
    order = np.random.default_rng(3).permutation(base.n)
    permuted = relate(made.table(seed=5).take(order), bodies(), SiteFacts(ground_setting=0.0), Relate()).elements
    for name in ("facade", "place", "shape"):
        assert list(base[name][order]) == list(permuted[name]), name
    assert np.allclose(base["corner_distance"][order], permuted["corner_distance"], equal_nan=True)


def test_mirrored_model_swaps_left_and_right() -> None:
    made = Made()
    made.ring(L_PLAN, Z)
    base = run(made).elements
    mirrored = run(made, move=lambda p: p * [-1.0, 1.0, 1.0]).elements
    for one, other in (("s_left", "s_right"), ("joint_left", "joint_right"), ("joint_top", "joint_top"), ("width", "width")):
        assert np.allclose(base[one], mirrored[other], atol=1e-6, equal_nan=True), one


def test_notch_alone_is_turned_by_its_rails() -> None:
    """Only the three walls of a recess are in the files: their bend says the opposite of what stands behind them."""
    made = Made()
    made.ring(U_PLAN, Z, skip=(0, 1, 2, 6, 7))
    rails = [box([x, 4860, 0], [x + 40, 4900, 7000], "rail") for x in (5000, 7000, 9000)]
    assert normals_hold(made, run(made, *rails))


def test_courtyard_alone_is_turned_by_its_windows() -> None:
    made = Made()
    made.ring(YARD, Z)
    frames = [box([x, 2850, 0], [x + 900, 2920, 3500], "frame") for x in (5000, 7000, 9000)]
    got = run(made, *frames)
    assert normals_hold(made, got) and not got.building.known


def test_upper_rows_of_a_mansard_belong_to_the_facade_below() -> None:
    made = Made()
    made.ring(RECTANGLE, Z)
    n = np.array([0.0, -np.cos(0.5), np.sin(0.5)])
    up = np.cross(n, [1.0, 0.0, 0.0])
    rows = [made.panel(np.array([3000.0, 0.0, 7004.0]) + up * -1508 * k, n, (1500.0, 1500.0)) for k in range(-3, 0)]
    got = run(made)
    assert normals_hold(made, got)
    assert set(got.elements["facade"][rows]) == {got.elements["facade"][0]}
    assert set(got.elements["place"][rows]) == {"inclined"}


def test_file_that_does_not_line_up_is_told() -> None:
    made = Made()
    made.ring(RECTANGLE, Z, model="a.ifc")
    made.wall([500000, 0], [509000, 0], Z, model="b.ifc")
    assert [i.model for i in run(made).issues if i.rule == "file-apart"] == ["a.ifc", "b.ifc"]


def test_file_in_another_unit_is_told() -> None:
    made = Made()
    made.ring(RECTANGLE, Z, model="a.ifc")
    made.panel([3.0, -1.0, 1.0], [0, -1, 0], (1.5, 3.5), t=0.03, model="b.ifc")
    assert "b.ifc" in [i.model for i in run(made).issues if i.rule == "file-apart"]


def test_files_of_one_building_line_up() -> None:
    made = Made()
    for k, wall in enumerate([(0, 1), (1, 2), (2, 3), (3, 0)]):
        made.wall(RECTANGLE[wall[0]], RECTANGLE[wall[1]], Z, model=f"{k}.ifc")
    assert not [i for i in run(made).issues if i.rule == "file-apart"]


def test_a_file_of_small_parts_is_not_out_of_scale() -> None:
    made = Made()
    made.ring(RECTANGLE, Z, model="a.ifc")
    part = box([3000, 60, 1000], [3010, 70, 1010], "fastener").with_columns(model=np.array(["b.ifc"], dtype=object))
    assert not run(made, part).issues


@pytest.mark.parametrize("status", ["", "unreadable"])
def test_nothing_to_relate(status: str) -> None:
    made = Made()
    if status:
        made.panel([0, 0, 0], [0, -1, 0], (1000, 1000), t=float("nan"), status=status, reason="zero-thickness")
    got = run(made, box([300, 300, 3300], [11700, 7700, 3500], "slab"))
    assert got.facades.n == got.joints.n == got.behind.n == 0 and not got.elements["side_known"].any()
    assert not got.building.known and [i.rule for i in got.issues] == ["building-uncertain"]


def test_one_panel_alone() -> None:
    made = Made()
    made.panel([0, 0, 0], [0, -1, 0], (1000, 1500))
    got = run(made)
    assert got.elements["width"][0] == pytest.approx(1000.0) and got.facades.n == 1 and not got.building.known


def test_a_closed_kiosk_does_not_close_the_building() -> None:
    made = Made()
    made.ring(RECTANGLE, Z, skip=(0,))
    made.ring([[30000, 0], [32000, 0], [32000, 2000], [30000, 2000]], (0.0, 3000.0))
    got = run(made)
    assert normals_hold(made, got) and not got.building.known


def test_parapet_is_what_ends_little_above_the_roof() -> None:
    made = Made()
    storeys = made.ring(RECTANGLE, Z)
    parapet = made.ring(RECTANGLE, (7000.0, 8000.0))
    slab = box([300, 300, 6700], [11700, 7700, 6950], "slab")
    place = run(made, slab).elements["place"]
    assert set(place[np.concatenate(parapet)]) == {"parapet"} and set(place[np.concatenate(storeys)]) == {"field"}


def test_top_storey_over_the_last_slab_is_no_parapet() -> None:
    made = Made()
    made.ring(RECTANGLE, Z)
    assert set(run(made, box([300, 300, 3200], [11700, 7700, 3450], "slab")).elements["place"]) == {"field"}


@pytest.mark.parametrize(("slab_at", "down"), [(4200.0, True), (3600.0, False)])
def test_level_panel_faces_away_from_what_it_is_fixed_to(slab_at: float, down: bool) -> None:
    made = Made()
    made.ring(RECTANGLE, Z)
    n = [0, 0, -1] if down else [0, 0, 1]
    row = made.panel([3000.0, 60.0 if down else 600.0, 4000.0], n, (1500.0, 500.0), u=[1, 0, 0])
    got = run(made, box([300, 300, slab_at], [11700, 7700, slab_at + 200], "slab")).elements
    assert np.allclose(got["n"][row], n) and (got["place"][row] == "soffit") == down
    assert got["facade"][row] == got["facade"][0] and got["width"][row] == pytest.approx(1500.0)


def test_arc_is_developed() -> None:
    """Quarter circle of radius 1000 over its chord: arc pi/2 R, chord sqrt(2) R, rise (1 - sqrt(1/2)) R (geometry)."""
    made = Made()
    made.ring(RECTANGLE, Z)
    made.panel([3000.0, 0.0, 7004.0], [0, -1, 0], (1414.2135623730951, 1000.0), form="curved")
    table = made.table()
    rise = np.where(table["form"] == "curved", 1000.0 * (1 - np.sqrt(0.5)), np.nan)
    got = relate(table.with_columns(sagitta=rise), bodies(), SiteFacts(ground_setting=0.0), Relate())
    assert got.elements["net_area"][-1] == pytest.approx(np.pi / 2 * 1e6)


def test_face_seen_from_outside_is_the_outer_one_of_a_bevelled_body() -> None:
    """A body read by its inner face 1400 x 3400 whose outer face is larger: the outer one counts."""
    made = Made()
    made.ring(RECTANGLE, Z)
    table = made.table()
    inward = np.flatnonzero((table["raw_n"] * np.array([r["n"] for r in made.rows])).sum(axis=1) < 0)
    grown = [np.zeros((0, 3))] * table.n
    for r in inward:
        o = table["raw_outline"][r].copy()
        middle = (o[:, :2].min(axis=0) + o[:, :2].max(axis=0)) / 2
        grown[r] = np.column_stack([o[:, :2] + 2.0 * np.sign(o[:, :2] - middle), o[:, 2]])
    got = relate(table.with_columns(raw_outline_back=Ragged.of(grown, (3,))), bodies(), SiteFacts(ground_setting=0.0), Relate())
    plain = run(made).elements["width"]
    assert np.allclose(got.elements["width"][inward], plain[inward] + 4.0) and len(inward) > 5


def test_panel_askew_in_its_facade_stays_part_of_it() -> None:
    made = Made()
    made.ring(RECTANGLE, Z)
    row = made.panel([3000.0, 0.0, 7004.0], [0.02, -1, 0], (1500.0, 3000.0))
    got = run(made)
    assert got.facades.n == 4 and got.elements["facade"][row] == got.elements["facade"][0]
    assert np.allclose(got.elements["n"][row], made.rows[row]["n"])


def test_whole_facade_askew_keeps_its_own_plane() -> None:
    made = Made()
    made.ring([[0, 0], [12000, 300], [12000, 8000], [0, 8000]], Z)  # 1.4 degrees off the opposite facade
    got = run(made)
    assert got.facades.n == 4 and normals_hold(made, got)
