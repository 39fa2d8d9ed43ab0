"""Every selected layout once more, by paths that share nothing with the search but the plate theory.

Geometry by shapely on the panel's own outline, moments and reactions on a finer grid without cache, classes or
envelope, a rectangle also by another element (quintic triangles), and the checks written out once more.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from bimcheck.core.tables import Ragged, Table
from bimcheck.layout.final import outline_of
from bimcheck.layout.settings import Layout
from bimcheck.layout.waves import Selected
from bimcheck.plate.points import solve_many
from bimcheck.plate.shape import build
from bimcheck.plate.solutions import Solutions
from tests.layout import plain
from tests.layout.test_waves import SHAPES, mirror, points_of, selected
from tests.plate.argyris import solve_peer

SPRING = 10e3  # N/mm
NOTHING = np.empty((0, 4))
SETTINGS = Layout(clip_offset_mm=14.0, keep_out_clearance_mm=6.0)
WITHIN = 0.01  # mm by which nothing may be violated
FINER = 1.01  # the plate engine's own accuracy at anchors and in the field
AT_CORNERS = 1.06  # and at re-entrant corners


def _panels() -> Table:
    """The shapes and their mirror images; rectangles of random size on rails, with something behind them, with both."""
    rng = np.random.default_rng(20)
    outlines = [*SHAPES, *(mirror(s) for s in SHAPES)]
    plain_ones = [plain.rectangle(*np.round(rng.uniform((500, 450), (1500, 1100)), 1)) for _ in range(16)]
    rails: list[np.ndarray] = [np.empty((0, 3))] * len(outlines)
    boxes: list[np.ndarray] = [NOTHING] * len(outlines)
    for k, o in enumerate(plain_ones):
        width, height = o[:, :2].max(axis=0)
        at = np.sort(np.round(rng.uniform(0.08, 0.92, 5) * height, 1))
        rails.append(np.column_stack([at, np.arange(5), np.ones(5)]) if k % 2 else np.empty((0, 3)))
        x, y = rng.uniform(0.05, 0.6, 2) * (width, height)
        boxes.append(np.array([[x, y, x + 0.18 * width, y + 0.12 * height]]) if k % 4 >= 2 else NOTHING)
    n = len(outlines) + len(plain_ones)
    return plain.panels(
        [*outlines, *plain_ones], rails_y=Ragged.of(rails, (3,)), keep_out=Ragged.of(boxes, (4,)),
        w_suction=-rng.uniform(0.9e-3, 2.6e-3, n), f_d=rng.uniform(4.5, 8, n), R_k=rng.uniform(2500, 5000, n),
        nu=rng.choice([0.15, 0.2, 0.25], n), edge_min_item=rng.choice([45.0, 50.0, 55.0], n))


@pytest.fixture(scope="module")
def found() -> tuple[Table, Selected]:
    panels = _panels()
    return panels, selected(panels, SETTINGS, spring=SPRING)


def _rows(s: Selected) -> list[int]:
    return np.flatnonzero(s.tables["panels"]["u_layout"] <= 1).tolist()


def test_nearly_all_panels_pass(found: tuple[Table, Selected]) -> None:
    """Else the rest proves little."""
    panels, s = found
    assert len(_rows(s)) >= panels.n - 3
    assert set(range(2 * len(SHAPES))) <= set(_rows(s))


def test_nothing_is_violated_by_a_hundredth_of_a_millimetre(found: tuple[Table, Selected]) -> None:
    """Edge distance and spacing, rails + clip offset to the rounding of 1 mm, keep-outs with their clearance."""
    panels, s = found
    for row in _rows(s):
        at, polygon = points_of(s, row), outline_of(panels["outline"][row])
        points = shapely.points(at)
        assert shapely.covers(polygon, points).all()
        assert shapely.distance(polygon.boundary, points).min() >= panels["edge_min_item"][row] - WITHIN
        gaps = np.linalg.norm(at[:, None] - at, axis=2)[np.triu_indices(len(at), 1)]
        assert gaps.min() >= panels["spacing_min_item"][row] - WITHIN
        rails = panels["rails_y"][row][:, 0]
        if len(rails):
            assert np.abs(np.subtract.outer(at[:, 1], rails + SETTINGS.clip_offset_mm)).min(axis=1).max() <= 0.5 + WITHIN
        for x0, y0, x1, y1 in panels["keep_out"][row]:
            clear = shapely.distance(shapely.box(x0, y0, x1, y1), points)
            assert clear.min() >= SETTINGS.keep_out_clearance_mm - WITHIN


def _fine(panels: Table, row: int, at: np.ndarray) -> Solutions:
    """On rigid and on elastic supports."""
    outline = panels["outline"][row]
    rings = [outline[outline[:, 2] == k, :2] for k in np.unique(outline[:, 2])]
    springs = np.array([np.inf, SPRING / panels["D"][row]])
    cells = 48 if len(outline) == 4 else 40  # instead of 24 and 32
    return solve_many(build(rings, float(panels["nu"][row]), cells=cells), [at, at], spring=springs)


def _utilisation(panels: Table, row: int, moment: float, reaction: np.ndarray, hangs: np.ndarray) -> float:
    """Bending and pull as the plain checks state them, written out; edges and spacing are looked at above."""
    w = max(-panels["w_suction"][row], panels["w_pressure"][row])
    bending = w * moment * 6 / panels["t_min"][row] ** 2 / panels["f_d"][row]
    pull = w * reaction + np.where(hangs, 0.1 * panels["W"][row], 0.0)
    return float(max(bending, (pull * panels["gamma_anchor"][row] / panels["R_k"][row]).max()))


def _hangs(s: Selected, row: int) -> np.ndarray:
    a = s.tables["anchors"]
    mine = np.flatnonzero(a["candidate"] == s.tables["panels"]["candidate"][row])
    return a["hangs"][mine[np.argsort(a["slot"][mine])]]


def test_every_selected_layout_passes_on_a_fine_grid(found: tuple[Table, Selected]) -> None:
    """Polygons, cut-outs, mirror images, rails and keep-outs among them; and the utilisation told is that of the fine grid."""
    panels, s = found
    whole = [k + len(SHAPES) for k in (1, 4, 6, 7)]  # their own mirror images
    for row in sorted(set(_rows(s)) - set(whole)):
        solved = _fine(panels, row, points_of(s, row))
        reaction = solved.reaction.reshape(2, -1).max(axis=0)
        moment = float(solved.governing_moment(panels["undercut_radius"][row], panels["t_min"][row]).max())
        u = _utilisation(panels, row, moment, reaction, _hangs(s, row))
        accuracy = AT_CORNERS if solved.corner.any() else FINER
        assert u <= accuracy
        at = points_of(s, row)
        edge = shapely.distance(outline_of(panels["outline"][row]).boundary, shapely.points(at)).min()
        gap = np.linalg.norm(at[:, None] - at, axis=2)[np.triu_indices(len(at), 1)].min()
        assert max(u, panels["edge_min_item"][row] / edge, panels["spacing_min_item"][row] / gap) == pytest.approx(s.tables["panels"]["u_layout"][row], rel=accuracy - 1)


def test_a_rectangle_by_another_element(found: tuple[Table, Selected]) -> None:
    """Reactions, and moments over discs of 20 mm, by quintic triangles on rigid supports: within 1 %."""
    panels, s = found
    row = 2 * len(SHAPES)
    at = points_of(s, row)
    peer = solve_peer(panels["width"][row] / 1e3, panels["height"][row] / 1e3, at / 1e3, float(panels["nu"][row]), 0.1)
    fine, n = _fine(panels, row, at), len(at)
    np.testing.assert_allclose(1e6 * peer.reaction, fine.reaction[:n], rtol=0.01)
    np.testing.assert_allclose([1e6 * peer.anchor_moment(p / 1e3, 0.02) for p in at], fine.anchor_moment(20.0)[:n], rtol=0.01)
