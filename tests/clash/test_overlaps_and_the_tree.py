"""Overlap cases that a search over closed bodies misses, beside what ifcopenshell's tree answers in the same run.

Expected figures are the ones laid out here.  The tree's answers are recorded, not trusted: where they differ from the
layout, the test says so, so that a change of the library shows.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.clash import joints
from bimcheck.clash.contacts import contacts
from bimcheck.clash.frames import frames_of
from bimcheck.clash.zones import Zone
from bimcheck.core.issue import Issue
from bimcheck.relate.facts import SiteFacts
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.clash.boxes_ifc import clearances, colliding, intersecting, model_of, tree_of
from tests.clash.common import settings
from tests.relate.build import Made, bodies, box

SOUTH, EAST = [0, -1, 0], [1, 0, 0]
RAIL = box([0, 300, 0], [4000, 340, 4000], "rail")


def found(made: Made) -> list[Issue]:
    got = relate(made.table(), bodies(RAIL), SiteFacts(ground_setting=0.0), Relate())
    return joints.find({"elements": got.elements, "joints": got.joints}, settings())


def asked(a: Any, b: Any) -> tuple[bool, bool, list[float]]:
    """What the tree says of two upright boxes: whether they intersect (0.5 mm), whether surfaces collide, clearances under 10 mm."""
    file, parts = model_of([("IfcPlate", a), ("IfcPlate", b)])
    tree = tree_of(file)
    pair = parts[:1], parts[1:]
    return bool(intersecting(tree, *pair, 0.0005)), bool(colliding(tree, *pair)), clearances(tree, *pair)


def beside(x: float) -> Made:
    """Two panels 1000 x 1600 x 30 in one plane, x apart."""
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1600))
    made.panel([x, 0, 0], SOUTH, (1000, 1600))
    return made


@pytest.mark.parametrize(("x", "rule", "measured", "tree"), [
    (988.0, "panel-overlap", 12.0, (False, False, [0.0])), (0.0, "panel-overlap", 1000.0, (False, False, [0.0])),
    (0.5, "panel-overlap", 999.5, (False, False, [0.0])), (1000.0, "joint-width", 0.0, (False, False, [0.0])),
    (1001.0, "joint-width", 1.0, (False, False, [1.0])), (1004.9, "joint-width", 4.9, (False, False, [4.9]))],
    ids=["coplanar overlap", "exact duplicate", "duplicate shifted", "legal touch", "1 mm gap", "just too narrow"])
def test_two_panels(x: float, rule: str, measured: float, tree: tuple[bool, bool, list[float]]) -> None:
    """The tree tells an overlap and a copy from a touch by nothing: no intersection, no collision, clearance 0."""
    assert [(i.rule, i.measured) for i in found(beside(x))] == [(rule, pytest.approx(measured, abs=1e-6))]
    assert asked(((0, 0, 0), (1000, 30, 1600)), ((x, 0, 0), (x + 1000, 30, 1600))) == tree


@pytest.mark.parametrize("x", [1005.0, 1008.0, 1020.0])
def test_joints_within_the_limits_are_no_issue(x: float) -> None:
    assert found(beside(x)) == []


def test_every_copy_is_told_once_and_neighbours_of_copies_stay() -> None:
    """Four panels upon one another, in two models, a fifth 8 mm beside them: three copies of the first, no narrow joint."""
    made = Made()
    for x, model in ((0, "a.ifc"), (0, "b.ifc"), (0.5, "a.ifc"), (0.2, "b.ifc"), (1008.5, "b.ifc")):
        made.panel([x, 0, 0], SOUTH, (1000, 1600), model=model)
    got = found(made)
    assert [i.rule for i in got] == ["panel-overlap"] * 3 and all("second copy" in i.text for i in got)
    assert {(i.panel, i.other_panel) for i in got} == {(0, 1), (0, 2), (0, 3)}


def test_wide_joint_and_step() -> None:
    made = Made()
    made.panel([0, 0, 0], SOUTH, (1000, 1600))
    made.panel([1021, -4, 0], SOUTH, (1000, 1600))
    assert [(i.rule, i.severity, pytest.approx(i.measured)) for i in found(made)] == \
        [("joint-wide", "warning", 21.0), ("panel-step", "warning", 4.0)]


def test_panels_of_two_facades_that_run_into_one_another_at_the_corner() -> None:
    """South face at y = 0, east face at x = 4000: the south panel goes on to x = 4000, the east one begins at y = 0, so
    that they share 30 x 30 mm in plan."""
    made = Made()
    made.panel([3000, 0, 0], SOUTH, (1000, 1600))
    made.panel([4000, 0, 0], EAST, (1000, 1600))
    got = [i for i in found(made) if i.rule == "panel-overlap"]
    assert len(got) == 1 and got[0].measured == pytest.approx(30.0, abs=0.5) and "corner" in got[0].text
    # Here surfaces cross: the tree calls it a collision, though not an intersection.
    assert asked(((3000, 0, 0), (4000, 30, 1600)), ((3970, 0, 0), (4000, 1000, 1600))) == (False, True, [0.0])


def test_place_is_the_middle_of_the_joint() -> None:
    (issue,) = found(beside(1002.0))
    assert (issue.x, issue.y, issue.z) == pytest.approx((1001.0, 0.0, 800.0), abs=1e-6)


def test_what_the_tree_finds_in_a_clip_zone_we_find() -> None:
    """Random upright boxes around one clip zone: the tree's collisions (surfaces that cross) are among ours; what we find
    beyond them lies wholly inside the zone or holds it, where no surfaces cross."""
    rng = np.random.default_rng(11)
    low = np.array([500.0, 45.0, 800.0]) + rng.uniform(-90, 60, (300, 3))
    high = low + rng.uniform(2, 90, (300, 3))
    zone = (np.array([470.0, 30.0, 770.0]), np.array([530.0, 60.0, 830.0]))
    file, parts = model_of([("IfcBuildingElementProxy", (zone[0].tolist(), zone[1].tolist())), *(("IfcMember", b) for b in zip(low.tolist(), high.tolist(), strict=True))])
    hits = colliding(tree_of(file), parts[:1], parts[1:])
    tree = {k for k, part in enumerate(parts[1:]) if frozenset((parts[0].GlobalId, part.GlobalId)) in hits}
    axes = {"u": np.array([[1.0, 0, 0]]), "v": np.array([[0, 0, 1.0]]), "n": np.array([[0, -1.0, 0]])}
    frame = frames_of(np.array([[500.0, 30.0, 800.0]]), axes, np.array([0]))
    whole = bodies(*(box(list(a), list(b), "member") for a, b in zip(low, high, strict=True)))
    ours = set(contacts(frame, whole, [Zone("clip", (30.0, 30.0), 30.0)]).body.tolist())
    laid_out = {k for k in range(300) if (low[k] < zone[1]).all() and (high[k] > zone[0]).all()}
    assert ours == laid_out and tree <= ours and len(tree) > 20
    inside = {k for k in range(300) if (low[k] > zone[0]).all() and (high[k] < zone[1]).all()}
    holds = {k for k in range(300) if (low[k] < zone[0]).all() and (high[k] > zone[1]).all()}
    assert ours - tree <= inside | holds
