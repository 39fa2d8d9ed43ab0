"""Bodies that run into a panel 1000 x 1600 x 30 (front at y = 0, rear at y = 30); figures follow from the layout."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.clash import intruders
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Ragged, Table
from tests.clash import brute
from tests.clash.common import settings
from tests.clash.test_anchor_zones import panels
from tests.relate.build import bodies, body, box


def find(*parts: Table, elements: Table | None = None) -> list[Issue]:
    made = elements or panels()
    return intruders.find({"elements": made.with_columns(guid=np.array(["panel"], dtype=object)), "obstacles": bodies(*parts)}, settings())


def test_a_frame_that_laps_over_the_edge() -> None:
    (issue,) = find(box([988, -20, 400], [1060, 60, 1200], "frame", name="Window 7"))
    assert (issue.rule, issue.severity, issue.unit, issue.required) == ("panel-clash", "error", "mm", 0.0)
    assert issue.measured == pytest.approx(12.0) and (issue.x, issue.y, issue.z) == pytest.approx((994.0, 15.0, 800.0))
    assert issue.group.startswith("Window") and "12.0 x 800.0 x 30.0" in issue.text


def test_a_nose_that_enters_the_rear_face() -> None:
    (issue,) = find(box([400, 25, 400], [440, 90, 460], "bracket"))
    assert issue.measured == pytest.approx(5.0) and issue.y == pytest.approx(27.5)


@pytest.mark.parametrize("part", [
    box([1000, -20, 400], [1060, 60, 1200], "frame"), box([400, 30, 400], [440, 90, 460], "bracket"), box([0, -60, 0], [1000, 0, 1600], "wall"),
    box([400, 10, 400], [440, 90, 460], "fastener"), box([400, 10, 400], [440, 90, 460], "ignored"),
], ids=["beside", "behind", "in front", "fastener", "ignored"])
def test_touching_is_not_a_clash_nor_are_fasteners(part: Table) -> None:
    assert find(part) == []


def cylinder(x: float, z: float, r: float) -> Table:
    """A pipe square through the facade."""
    made = brute.prism(brute.circle(r, 96), 400)[:, :, [1, 0, 2]] * [1, -1, 1] + [x, 200, z]
    return body(made.reshape(-1, 9), "service", "Pipe")


def test_a_pipe_through_the_panel_and_one_through_its_cut_out() -> None:
    (issue,) = find(cylinder(500, 800, 40.0))
    assert issue.measured == pytest.approx(30.0) and "80.0 x 80.0 x 30.0" in issue.text
    ring = np.array([[0, 0, 0], [1000, 0, 0], [1000, 1600, 0], [0, 1600, 0], [450, 750, 1], [450, 850, 1], [550, 850, 1], [550, 750, 1]], float)
    cut = panels().with_columns(outline=Ragged.of([ring]))
    assert find(cylinder(500, 800, 40.0), elements=cut) == []
    (issue,) = find(cylinder(515, 800, 40.0), elements=cut)
    assert issue.measured == pytest.approx(5.0, abs=0.1)


def test_a_profile_is_more_than_its_faces_and_less_than_its_box() -> None:
    """An L whose legs pass the panel's corner on both sides, 10 mm off: its box holds the corner, it does not. Then a post
    that is thicker than the panel: only its sides lie within the panel's thickness."""
    ring = np.array(brute.l_section(60, 6)) - [16, 16]
    made = brute.prism(ring.tolist(), 400)[:, :, [1, 0, 2]] * [1, -1, 1] + [0, 200, 0]
    assert find(body(made.reshape(-1, 9), "member")) == []
    post = brute.prism([(0, 0), (60, 0), (60, 60), (0, 60)], 400)
    turned = post @ np.array([[0, 1, 0], [0.8, 0, 0.6], [-0.6, 0, 0.8]]) + [500, -200, 800]
    (issue,) = find(body(turned.reshape(-1, 9), "member"))
    assert issue.measured == pytest.approx(30.0) and "84.0 x 84.0 x 30.0" in issue.text  # 60 (0.8 + 0.6)


def test_a_panel_wholly_inside_a_wall() -> None:
    (issue,) = find(box([-500, -200, -500], [1500, 200, 2500], "wall"))
    assert issue.measured == pytest.approx(30.0)
