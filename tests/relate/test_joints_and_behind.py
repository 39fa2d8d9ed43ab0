"""Joints, overlaps and bodies behind on panels laid out here: the expected figures are the ones that are laid out."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Related, SiteFacts
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.relate.build import Made, bodies, body, box

SOUTH, EAST = [0, -1, 0], [1, 0, 0]
RAIL = box([0, 300, 0], [4000, 340, 4000], "rail")  # tells the outside
L_SHAPE = [[0, 0], [1000, 0], [1000, 500], [400, 500], [400, 1000], [0, 1000]]


def run(made: Made, *obstacles: Table, **more: Any) -> Related:
    return relate(made.table(**more), bodies(*(obstacles or (RAIL,))), SiteFacts(ground_setting=0.0), Relate())


def pair(got: Related, a: int, b: int) -> tuple[str, float] | None:
    j = got.joints
    rows = np.flatnonzero((j["panel"] == a) & (j["other"] == b))
    return (j["side"][rows[0]], float(j["gap"][rows[0]])) if len(rows) == 1 else None


@pytest.mark.parametrize(("x", "expected"), [(1008.0, 8.0), (1001.0, 1.0), (1000.0, 0.0), (988.0, -12.0), (0.5, -999.5)],
                         ids=["joint", "1 mm", "legal touch", "overlap of 12 mm", "duplicate shifted by 0.5 mm"])
def test_two_panels_side_by_side(x: float, expected: float) -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1600))
    made.panel([x, 0, 0], SOUTH, (1000, 1600))
    got = run(made)
    assert pair(got, 0, 1) == ("right", pytest.approx(expected, abs=1e-6))
    assert pair(got, 1, 0) == ("left", pytest.approx(expected, abs=1e-6))
    assert got.elements["joint_right"][0] == pytest.approx(expected, abs=1e-6) and np.isnan(got.elements["joint_left"][0])


def test_exact_duplicate_overlaps_by_its_lesser_side() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1600))
    made.panel([0, 0, 0], SOUTH, (1000, 1600))
    found = pair(run(made), 0, 1)
    assert found is not None and found[1] == pytest.approx(-1000.0)


def test_reach_overlap_and_step() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1000))
    far = made.panel([1061, 0, 0], SOUTH, (900, 1000))  # 61 mm: beyond the reach of 60
    corner = made.panel([995, 0, 1005], SOUTH, (900, 1000))  # shares 5 mm of length: no neighbour
    stepped = made.panel([0, -4, -1010], SOUTH, (1000, 1000))
    got = run(made)
    assert pair(got, 0, far) is None and pair(got, 0, corner) is None
    assert pair(got, 0, stepped) == ("bottom", pytest.approx(10.0))
    row = np.flatnonzero((got.joints["panel"] == 0) & (got.joints["other"] == stepped))[0]
    assert abs(got.joints["step"][row]) == pytest.approx(4.0)


def test_glass_neighbour_counts_and_other_elements_do_not() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1000))
    made.panel([1008, 0, 0], SOUTH, (900, 1000), status="out_of_scope", reason="material:glass")
    made.panel([0, 0, 1007], SOUTH, (1000, 300), status="out_of_scope", reason="not-a-panel: mullion")
    got = run(made)
    assert got.elements["joint_right"][0] == pytest.approx(8.0) and np.isnan(got.elements["joint_top"][0])
    assert np.isnan(got.elements["width"][2]) and got.elements["facade_index"][2] == -1


def test_panel_in_the_notch_of_an_l() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (0, 0), rings=[L_SHAPE])
    made.panel([409, 0, 507], SOUTH, (600, 493))
    got = run(made)
    assert got.elements["joint_right"][0] == pytest.approx(9.0) and got.elements["joint_top"][0] == pytest.approx(7.0)
    assert got.elements["joint_left"][1] == pytest.approx(9.0) and got.elements["joint_bottom"][1] == pytest.approx(7.0)
    assert (got.joints["gap"] > 0).all()  # their boxes overlap, they do not


def test_slanted_joint_is_measured_where_it_is_least() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (0, 0), rings=[[[0, 0], [1000, 0], [900, 1000], [0, 1000]]])
    made.panel([1000, 0, 0], SOUTH, (0, 0), rings=[[[8, 0], [800, 0], [800, 1000], [-80, 1000]]])
    got = run(made)  # along u the joint grows from 8 mm below to 20 mm above
    assert got.elements["joint_right"][0] == pytest.approx(8.0)


def test_weather_lap_is_no_overlap() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1000), t=10.0)
    made.panel([0, -20, 950], SOUTH, (1000, 1000), t=10.0)
    assert (run(made).joints["gap"] >= 0).all()


@pytest.mark.parametrize(("reach", "expected"), [(20.0, 20.0), (0.0, None), (-5.0, None)])
def test_returns_of_two_facades_at_a_corner(reach: float, expected: float | None) -> None:
    """The east panel begins at the south face; the south one reaches past the east one's rear face by `reach`."""
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1970 + reach, 1000), t=30.0)
    made.panel([2000, 0, 0], EAST, (1500, 1000), t=30.0)
    got = run(made, box([300, 300, 400], [1700, 1700, 600], "slab"))
    corner = got.joints["corner"]
    if expected is None:
        assert not corner.any()
    else:
        assert corner.sum() == 2 and got.joints["gap"][corner] == pytest.approx([-expected, -expected])
        assert got.joints["overlap_length"][corner] == pytest.approx([1000.0, 1000.0])
        assert np.isnan(got.elements["joint_right"][0])  # not a joint of its plane


def behind_of(made: Made, *obstacles: Table) -> Table:
    got = run(made, RAIL, *obstacles)
    return got.behind.take(got.behind["obstacle"] > 0)


def test_box_behind_is_measured_in_the_panel_frame() -> None:
    made = Made()
    made.panel([1000, 0, 2000], SOUTH, (1200, 800), t=30.0)
    found = behind_of(made, box([1100, 58, 2100], [1300, 100, 2150], "service"))
    got = [float(found[k][0]) for k in ("x0", "y0", "x1", "y1", "near", "far", "depth")]
    assert got == pytest.approx([100, 100, 300, 150, 28, 70, 42])


def test_body_in_the_notch_is_not_behind() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (0, 0), rings=[L_SHAPE])
    assert behind_of(made, box([450, 50, 550], [900, 90, 950], "bracket")).n == 0
    assert behind_of(made, box([350, 50, 550], [900, 90, 950], "bracket"))["x1"] == pytest.approx([400.0])


def test_body_in_a_cut_out_is_not_behind() -> None:
    made = Made()
    hole = [[300, 300], [300, 700], [700, 700], [700, 300]]
    made.panel([0, 0, 0], SOUTH, (0, 0), rings=[[[0, 0], [1000, 0], [1000, 1000], [0, 1000]], hole])
    assert behind_of(made, box([350, 40, 350], [650, 80, 650], "service")).n == 0


def test_slanted_body_counts_only_where_the_panel_is() -> None:
    """A bar that comes nearer to the plane beyond the panel's edge: y = 130 mm at x = 0, 30 mm at x = 2000."""
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1000), t=30.0)
    a, b, c, d = [0, 130, 500], [2000, 30, 500], [2000, 30, 540], [0, 130, 540]
    bar = body(np.array([[*a, *b, *c], [*a, *c, *d]], float), "member", "bar")
    found = behind_of(made, bar)
    assert found["near"] == pytest.approx([50.0]) and found["far"] == pytest.approx([100.0])


def test_touching_from_beside_is_not_behind() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1000))
    assert behind_of(made, box([1000, 40, 0], [1100, 80, 1000], "service")).n == 0


def test_supports_and_keep_outs() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1000), t=30.0)
    got = run(made, box([-500, 80, 190], [1500, 120, 210], "rail"), box([100, 35, 600], [150, 80, 700], "service"),
              box([-100, 35, 0], [-60, 80, 1000], "service"))
    assert got.elements["rails_y"][0] == pytest.approx(np.array([[200.0, 0.0, 1.0]]))
    assert got.elements["keep_out"][0] == pytest.approx(np.array([[100.0, 600.0, 150.0, 700.0]]))


def test_rows_follow_rails_where_there_are_two_and_brackets_else() -> None:
    """A bracket holds one anchor, a rail holds a row (common practice, no source)."""
    low, high = (box([-500, 80, z - 10], [1500, 120, z + 10], "rail") for z in (200, 800))
    bracket = box([480, 80, 460], [520, 120, 540], "bracket")

    def heights(*bodies: Table) -> list[float]:
        made = Made()
        made.panel([0, 0, 0], SOUTH, (1000, 1000), t=30.0)
        return sorted(run(made, *bodies).elements["rails_y"][0][:, 0].tolist())

    assert heights(low, high, bracket) == pytest.approx([200.0, 800.0])
    assert heights(low, bracket) == pytest.approx([200.0, 500.0]) and heights(bracket) == pytest.approx([500.0])


def test_window_round_the_corner_stands_edge_on() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1000), t=30.0)
    found = behind_of(made, box([930, 70, 0], [990, 1500, 1000], "frame"))
    assert found["edge_on"].all() and found["near"] == pytest.approx([40.0])
