"""Distance to the edge: rectangles by hand, other outlines by shapely, the two agreeing."""

from __future__ import annotations

import numpy as np
import shapely

from bimcheck.plate.edges import edge_distance, is_box
from tests.plate.shapes import CASES, PANEL, PIERCED


def test_rectangle_by_hand() -> None:
    points = np.array([[100, 300], [600, 20], [1200, 600], [1203, 300], [-3, -4], [600, 300]], dtype=float)
    np.testing.assert_allclose(edge_distance(shapely.Polygon(PANEL[0]), points), [100, 20, 0, -3, -5, 300], atol=1e-12)


def test_the_short_way_for_rectangles_agrees_with_the_long_one() -> None:
    points = np.random.default_rng(3).uniform(-200, 1400, (200, 2))
    box = shapely.Polygon(PANEL[0])
    almost = shapely.Polygon([*PANEL[0][:3], [0, 600], [-1e-6, 300]])
    assert is_box(box) and not is_box(almost)
    np.testing.assert_allclose(edge_distance(box, points), edge_distance(almost, points), atol=1e-5)


def test_cut_outs_are_edges_and_outside() -> None:
    pierced = shapely.Polygon(PIERCED[0], PIERCED[1:])
    np.testing.assert_allclose(edge_distance(pierced, np.array([[470.0, 300.0], [500.0, 300.0]])), [10, -20])
    assert not is_box(pierced) and not is_box(shapely.Polygon(CASES["gable"][0][0]))
