"""Plan geometry against a general polygon library."""

from __future__ import annotations

import pytest
import shapely

from bimcheck.samples.midrise_plan import CORNERS, SIDES
from bimcheck.samples.sides import Side, inset, sides_of, wall_ends

PLAN = shapely.Polygon(CORNERS)


def test_normals_look_outward_and_horizontals_to_the_right() -> None:
    for s in SIDES:
        middle = s.at(s.length / 2, 0.0)
        assert PLAN.boundary.distance(shapely.Point(middle)) == pytest.approx(0.0)
        assert PLAN.contains(shapely.Point(s.at(s.length / 2, 100.0)))
        assert s.u == (-s.n[1], s.n[0])  # z x n


@pytest.mark.parametrize("depth", [100.0, 320.0])
def test_inset_is_the_mitred_offset(depth: float) -> None:
    # Expected: shapely's buffer with mitred corners.
    assert shapely.Polygon(inset(SIDES, depth)).symmetric_difference(PLAN.buffer(-depth, join_style="mitre")).area == pytest.approx(0.0, abs=1.0)


def test_the_l_has_one_re_entrant_corner() -> None:
    ends = [(s.starts_external, s.ends_external) for s in SIDES]
    assert ends == [(True, True), (True, True), (True, False), (False, True), (True, True), (True, True)]


@pytest.mark.parametrize("corners", [CORNERS, (*CORNERS[:1], (18000.0, 0.0), (18000.0, 9000.0), (0.0, 9000.0))])
def test_walls_fill_their_ring_without_overlap(corners: tuple[tuple[float, float], ...]) -> None:
    depth, thickness = 320.0, 200.0
    sides, plan = sides_of(corners), shapely.Polygon(corners)
    walls = [_footprint(s, depth, thickness) for s in sides]
    ring = plan.buffer(-depth, join_style="mitre") - plan.buffer(-depth - thickness, join_style="mitre")
    assert sum(w.area for w in walls) == pytest.approx(ring.area)  # no overlap
    assert shapely.union_all(walls).symmetric_difference(ring).area == pytest.approx(0.0, abs=1.0)


def _footprint(side: Side, depth: float, thickness: float) -> shapely.Polygon:
    start, end = wall_ends(side, depth, thickness)
    return shapely.Polygon([side.at(u, d) for u, d in ((start, depth), (end, depth), (end, depth + thickness), (start, depth + thickness))])
