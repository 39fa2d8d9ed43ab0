"""Moves of rows and columns.  Expected moves follow from the boxes laid out here, by hand or by trying every millimetre."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.clash import anchors
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Ragged, Table
from tests.clash.common import settings
from tests.clash.test_anchor_zones import T, panels
from tests.relate.build import bodies, box

XS, YS = (200.0, 800.0), (200.0, 1400.0)
AT = [(x, y) for y in YS for x in XS]  # A1 A2 below, A3 A4 above


def found(*obstacles: Table, at: list[tuple[float, float]] = AT, kept: bool = False, edge: float = 50.0, spacing: float = 80.0,
          rails: Any = None, **changed: Any) -> list[Issue]:
    n = len(at)
    x, z = np.array(at).T
    anchor = Table("anchors", n, {"panel": np.zeros(n, int), "slot": np.arange(n) + 1, "wx": x, "wy": np.full(n, T), "wz": z,
                                  "edge_required": np.full(n, edge), "spacing_required": np.full(n, spacing)})
    elements = panels() if rails is None else panels().with_columns(rails_y=Ragged.of([rails]))
    rows = Table("panels", 1, {"element": np.array([0]), "kept": np.array([kept])})
    return anchors.find({"elements": elements, "panels": rows, "anchors": anchor, "obstacles": bodies(*obstacles)}, settings(**changed))


def behind(x: tuple[float, float], y: tuple[float, float], depth: tuple[float, float] = (0, 25), role: str = "member") -> Table:
    return box([x[0], T + depth[0], y[0]], [x[1], T + depth[1], y[1]], role)


def way(*obstacles: Table, **more: Any) -> str:
    (issue,) = [i for i in found(*obstacles, **more) if i.rule == "anchor-clash"]
    return issue.way_out.partition(";")[0].partition(" (seen")[0]


SLAB = behind((0, 1000), (-100, 180))  # its edge 20 mm under the axes of the lower row: the clip zone needs 30 mm


def test_the_row_goes_up_by_what_the_zone_lacks() -> None:
    assert way(SLAB) == "move the row of A1, A2 up by 10 mm"


def test_a_second_body_in_the_way_of_the_move_is_passed() -> None:
    """A bar from 235 to 260 mm: the zone (30 mm) has to stand above it, at 290, 90 mm higher."""
    assert way(SLAB, behind((0, 1000), (235, 260))) == "move the row of A1, A2 up by 90 mm"
    # Where only the right anchor would meet it, the row passes it all the same.
    assert way(SLAB, behind((780, 820), (235, 260))) == "move the row of A1, A2 up by 90 mm"


def test_farther_than_the_setting_is_not_told() -> None:
    (issue,) = found(SLAB, behind((0, 1000), (235, 260)), clash__move_most_mm=80.0)
    assert issue.way_out.startswith("no move of its row or column up to 80 mm is free")
    (issue,) = found(SLAB, clash__move_most_mm=0.0)
    assert issue.way_out == "move the body by 10.0 mm down (seen from outside)"


def test_edge_distance_limits_the_move() -> None:
    """A post right of the left column, from 190 to 300 mm: 40 mm to the left would do, or 130 mm to the right."""
    post = behind((210, 300), (0, 1600))
    assert way(post) == "move the column of A1, A3 to the left by 20 mm"
    near = [(x - 140, y) if x < 500 else (x, y) for x, y in AT]  # the left column at 60 mm
    post = behind((70, 160), (0, 1600))
    assert way(post, at=near, edge=50.0) == "move the column of A1, A3 to the right by 130 mm"
    assert way(post, at=near, edge=40.0) == "move the column of A1, A3 to the left by 20 mm"


def test_spacing_limits_the_move() -> None:
    """Anchors 150 mm apart, the left one 20 mm too near a post on its left: to the right by 20 mm leaves 130 mm."""
    pair = [(400.0, 200.0), (550.0, 200.0)]
    post = behind((100, 390), (0, 1600))
    assert way(post, at=pair, spacing=130.0) == "move A1 to the right by 20 mm"
    assert way(post, at=pair, spacing=131.0).startswith("no move")


RAIL, UPPER = (behind((0, 1000), (y - 20, y + 20), (50, 90), "rail") for y in YS)


def test_a_support_stays_in_reach_where_rows_are_free_of_the_rails() -> None:
    """A rail whose axis is that of the lower row: 90 mm up is within the reach of 100 mm, not of 60."""
    bar = behind((0, 1000), (235, 260))
    free: dict[str, Any] = {"layout__follow_rails": False}
    assert way(SLAB, bar, RAIL, UPPER, **free) == "move the row of A1, A2 up by 90 mm"
    assert way(SLAB, bar, RAIL, UPPER, clash__reach_mm=60.0, **free).startswith("no move")
    (issue,) = found(SLAB, RAIL, UPPER, **free)
    assert "a support in reach kept" in issue.way_out


def test_anchors_on_a_rail_move_along_it() -> None:
    """A post 20 mm beside the left column, level rails: 10 mm along them; the slab's edge would take the row off its rail."""
    assert way(behind((220, 300), (0, 1600)), RAIL, UPPER) == "move the column of A1, A3 to the left by 10 mm"
    assert way(SLAB, RAIL, UPPER).startswith("no move")
    upright = [behind((x - 20, x + 20), (0, 1600), (50, 90), "rail") for x in XS]
    assert way(SLAB, *upright) == "move the row of A1, A2 up by 10 mm"
    assert way(behind((220, 300), (0, 1600)), *upright).startswith("no move")


def test_a_row_moves_to_another_rail() -> None:
    """Rails at 200, 500 and 1400 mm: 300 mm up is the next; what stands there sends the row nowhere."""
    middle = behind((0, 1000), (480, 520), (50, 90), "rail")
    rails = np.array([[200.0, 1, 1], [500.0, 2, 1], [1400.0, 3, 1]])
    assert way(SLAB, RAIL, middle, UPPER, rails=rails) == "move the row of A1, A2 up by 300 mm"
    (issue, *_) = [i for i in found(SLAB, RAIL, middle, UPPER, behind((780, 820), (480, 520)), rails=rails) if "A1" in i.text]
    assert issue.way_out.startswith("no move")


def test_drilled_panels_keep_their_anchors() -> None:
    (issue,) = found(SLAB, kept=True)
    assert issue.way_out == "the holes are drilled: move the body by 10.0 mm down (seen from outside)"


def test_a_body_before_all_anchors_cannot_be_passed_by_a_row() -> None:
    (issue,) = found(behind((0, 1000), (0, 1600)))
    assert issue.way_out.startswith("no move of its row or column")


def test_what_nothing_carries_is_measured_and_moved_to_a_rail() -> None:
    """A rail from 480 to 520 mm: 280 mm above the lower row, and 880 mm below the upper."""
    rail = behind((0, 1000), (480, 520), (50, 90), "rail")
    (issue,) = found(rail)
    assert (issue.rule, issue.severity, issue.measured, issue.required, issue.unit) == ("unsupported", "warning", pytest.approx(880.0), 100.0, "mm")
    assert "A1, A2, A3, A4; the nearest is 880 mm away" in issue.text and issue.way_out.startswith("add a rail")
    rails = np.array([[500.0, 0, 1]])
    (issue,) = found(rail, rails=rails)
    assert issue.way_out.startswith("move the row of A1, A2 up by 300 mm (seen from outside), on the rail there; move the row of A3, A4 down by 900 mm")
    (issue,) = [i for i in found(rail, behind((0, 1000), (525, 560)), rails=rails) if i.rule == "unsupported"]  # 5 mm into the zone
    assert issue.way_out.startswith("add a rail")
    (issue,) = found(behind((0, 100), (-3000, -2500), (50, 90), "rail"))
    assert np.isnan(issue.measured) and "nor within 1000 mm" in issue.text


def test_least_of_all_whole_millimetres() -> None:
    """Boxes at random; expected: trying every whole millimetre of every row and column, boxes against boxes."""
    rng = np.random.default_rng(8)
    told = stuck = 0
    for _ in range(50):
        low = (np.array(AT)[rng.integers(4, size=6)] + rng.uniform(-180, 180, (6, 2))).round()
        high = low + rng.uniform(5, 90, (6, 2)).round()
        for issue in found(*(behind((a[0], b[0]), (a[1], b[1])) for a, b in zip(low, high, strict=True)), clash__move_most_mm=45.0):
            moves = _every([k for k in range(4) if f"A{k + 1}" in issue.text], low, high)
            if moves:
                assert f"by {min(abs(s) for s in moves)} mm" in issue.way_out.partition(" (seen")[0]
            else:
                assert issue.way_out.startswith("no move")
            told, stuck = told + bool(moves), stuck + (not moves)
    assert told > 20 and stuck > 0


def _every(hit: list[int], low: np.ndarray, high: np.ndarray) -> list[int]:
    at, out = np.array(AT), []
    for axis in (0, 1):
        if np.ptp(at[hit, axis]) == 0:
            line = np.flatnonzero(at[:, axis] == at[hit[0], axis])
            for s in range(-45, 46):
                moved = at[line].copy()
                moved[:, axis] += s
                inside = ((moved > 50 - 1e-9) & (moved < np.array([1000, 1600]) - 50 + 1e-9)).all()
                clash = ((moved[:, None] - 30 < high - 1e-9) & (moved[:, None] + 30 > low + 1e-9)).all(axis=2).any()
                out += [s] if inside and not clash else []
    return out
