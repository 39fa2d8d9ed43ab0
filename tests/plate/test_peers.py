"""An independent element (Argyris, scikit-fem) on a handful of layouts: reactions, deflections, anchor moments."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.plate.points import solve, values_at
from bimcheck.plate.shape import build
from tests.plate.shapes import box, grid

pytest.importorskip("skfem", reason="needs scikit-fem")
from tests.plate.argyris import solve_peer

LAYOUTS = {
    "four": (1.0, 0.6, grid([0.17, 0.83], [0.11, 0.49]), 0.2, None),
    "crooked five": (1.0, 0.5, np.array([[0.13, 0.09], [0.84, 0.07], [0.88, 0.40], [0.19, 0.43], [0.49, 0.22]]), 0.3, None),
    "pierced": (1.0, 0.6, grid([0.15, 0.85], [0.1, 0.5]), 0.2, (0.37, 0.22, 0.58, 0.41)),
}


@pytest.fixture(scope="module", params=LAYOUTS)
def both(request: pytest.FixtureRequest):
    width, height, anchors, nu, hole = LAYOUTS[request.param]
    peer = solve_peer(width, height, anchors, nu, 0.1, hole)
    rings = [box(0, 0, width, height), *([box(*hole)] if hole else [])]
    return peer, build(rings, nu), anchors


def test_reactions(both) -> None:
    peer, plate, anchors = both
    np.testing.assert_allclose(solve(plate, anchors).reaction, peer.reaction, rtol=0.002)


def test_deflections(both) -> None:
    peer, plate, anchors = both
    at = np.array([[0.5, 0.02], [0.3, 0.3], [0.66, 0.13], [0.02, 0.48]])
    w, _ = values_at(plate, anchors, at)
    np.testing.assert_allclose(w, peer.at(at), rtol=0.01, atol=0.003 * np.abs(w).max())


def test_anchor_moments(both) -> None:
    """The peer averages over the disc of 0.02 itself; ours reads at up to two cells and shifts."""
    peer, plate, anchors = both
    expected = [peer.anchor_moment(a, 0.02) for a in anchors]
    np.testing.assert_allclose(solve(plate, anchors).anchor_moment(0.02), expected, rtol=0.004)
