"""Any plan of right angles, with courtyards, gaps and missing sides: the outside is where it was laid out."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from bimcheck.relate.facts import SiteFacts
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.relate.build import Made, bodies, body

INSET = 50.0  # from the corner to the first panel, see Made.wall


def plan(rng: np.random.Generator) -> list[np.ndarray]:
    """Rings of a union of up to three rectangles: outer counter-clockwise, courtyards clockwise; no edge below 1.2 m."""
    while True:
        sizes = rng.uniform([0, 0, 5000, 5000], [12000, 12000, 15000, 15000], (rng.integers(1, 4), 4))
        parts = [shapely.box(x, y, x + w, y + h) for x, y, w, h in np.round(sizes)]
        whole = shapely.union_all(parts)
        if not isinstance(whole, shapely.Polygon) or not isinstance(whole.buffer(-700), shapely.Polygon):
            continue
        whole = shapely.orient_polygons(whole.simplify(0.1))
        rings = [np.asarray(r.coords)[:-1] for r in (whole.exterior, *whole.interiors)]
        if min(np.linalg.norm(np.roll(r, -1, axis=0) - r, axis=1).min() for r in rings) >= 1200:
            return rings


def turned(rng: np.random.Generator) -> np.ndarray:
    a = rng.uniform(0, 2 * np.pi)
    return np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])


@pytest.mark.parametrize("seed", range(12))
def test_clad_all_round_with_gaps(seed: int) -> None:
    """One panel in ten is a window; ends of facades stay where the plan has them."""
    rng = np.random.default_rng(seed)
    made, turn = Made(), turned(rng)
    for ring in plan(rng):
        made.ring(ring.tolist(), (0.0, 3500.0, 7000.0, 10500.0), module=rng.uniform(1200, 2200), t=rng.uniform(12, 40))
    keep = rng.random(len(made.rows)) > 0.1
    got = relate(made.table(seed=seed, move=lambda p: p @ turn.T + [6e9, 2e5, 3e4]).take(keep), bodies(),
                 SiteFacts(ground_setting=3e4), Relate())
    normal = np.array([r["n"] for r in made.rows])[keep] @ turn.T
    assert np.allclose(got.elements["n"], normal, atol=1e-5) and got.building.known
    # The first column of a wall begins INSET from the corner, unless all its panels are windows.
    first = np.flatnonzero(got.elements["s_left"] < 600)
    assert np.allclose(got.elements["s_left"][first], INSET, atol=0.01) and len(first) >= 4


@pytest.mark.parametrize("seed", range(12))
def test_side_left_unclad_is_closed_by_the_slab(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    ring = plan(rng)[0]
    made = Made()
    walls = made.ring(ring.tolist(), (0.0, 3500.0, 7000.0), skip=(int(rng.integers(len(ring))),))
    inner = shapely.Polygon(ring).buffer(-300, join_style="mitre")
    flat = shapely.get_coordinates(shapely.constrained_delaunay_triangles(inner)).reshape(-1, 4, 2)[:, :3]
    slab = np.concatenate([flat, np.full((*flat.shape[:2], 1), 3500.0)], axis=2).reshape(-1, 9)
    got = relate(made.table(seed=seed), bodies(body(slab, "slab")), SiteFacts(ground_setting=0.0), Relate())
    assert np.allclose(got.elements["n"], [r["n"] for r in made.rows]) and got.building.ring_source == "structure"
    for wall in (w for w in walls if w):
        assert got.elements["s_left"][wall].min() == pytest.approx(INSET, abs=0.01)
        assert got.elements["s_right"][wall].min() == pytest.approx(INSET, abs=0.01)
