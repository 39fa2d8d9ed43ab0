"""The stage as a whole: every selected layout is permitted and passes by an independent path, whatever the shape."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from bimcheck.core.tables import Ragged, Table
from bimcheck.layout.final import outline_of
from bimcheck.layout.settings import Layout
from bimcheck.layout.waves import Selected, run
from bimcheck.plate.points import solve_many
from bimcheck.plate.shape import build
from tests.layout import plain

ELL = np.array([[0, 0, 0], [900, 0, 0], [900, 350, 0], [400, 350, 0], [400, 800, 0], [0, 800, 0]], dtype=float)
GABLE = np.array([[0, 0, 0], [800, 0, 0], [800, 400, 0], [400, 700, 0], [0, 400, 0]], dtype=float)
TRIANGLE = np.array([[0, 0, 0], [900, 0, 0], [150, 700, 0]], dtype=float)
TRAPEZOID = np.array([[0, 0, 0], [1000, 0, 0], [780, 600, 0], [0, 600, 0]], dtype=float)
HOLE = np.array([[0, 0, 0], [900, 0, 0], [900, 700, 0], [0, 700, 0],
                 [380, 250, 1], [380, 450, 1], [620, 450, 1], [620, 250, 1]], dtype=float)
CORNER_HOLE = np.array([[0, 0, 0], [900, 0, 0], [900, 700, 0], [0, 700, 0],
                        [80, 80, 1], [80, 200, 1], [260, 200, 1], [260, 80, 1]], dtype=float)
SHAPES = [ELL, GABLE, TRIANGLE, TRAPEZOID, HOLE, CORNER_HOLE, plain.rectangle(1200, 600), plain.rectangle(420, 1500)]


def selected(panels: Table, settings: Layout | None = None, **more) -> Selected:
    return run({"panels": panels, "facades": plain.facades()}, settings or Layout(), plain.solve, plain.evaluate, plain.CHECKS, **more)


def points_of(s: Selected, row: int) -> np.ndarray:
    """(n, 2) anchors of a panel in slot order."""
    a = s.tables["anchors"]
    mine = a["candidate"] == s.tables["panels"]["candidate"][row]
    order = np.argsort(a["slot"][mine])
    return np.column_stack([a["x"][mine], a["y"][mine]])[order]


def mirror(outline: np.ndarray) -> np.ndarray:
    """Seen in a mirror; rings keep their sense."""
    out = outline.copy()
    out[:, 0] = outline[:, 0].max() - out[:, 0]
    return np.concatenate([out[out[:, 2] == k][::-1] for k in np.unique(out[:, 2])])


@pytest.fixture(scope="module")
def shapes() -> Selected:
    return selected(plain.panels(SHAPES, w_suction=-1.6e-3))


def test_every_shape_gets_a_passing_layout(shapes: Selected) -> None:
    panels = shapes.tables["panels"]
    assert (panels["u_layout"] <= 1).all()
    assert (panels["layout_reason"] == "").all()
    assert panels["n_anchors_selected"][2] == 3  # three anchors on triangles


def test_positions_keep_edges_and_spacing(shapes: Selected) -> None:
    """Least distances from general geometry (shapely), within 0.01 mm."""
    for row, outline in enumerate(SHAPES):
        polygon, at = outline_of(outline), points_of(shapes, row)
        points = shapely.points(at)
        assert shapely.covers(polygon, points).all()
        assert shapely.distance(polygon.boundary, points).min() >= 50 - 0.01
        gaps = np.linalg.norm(at[:, None] - at, axis=2)[np.triu_indices(len(at), 1)]
        assert gaps.min() >= 100 - 0.01


def test_selected_layouts_pass_on_a_fine_mesh(shapes: Selected) -> None:
    """Moment and reactions once more on 48 cells, without cache and envelope, checked by hand: within 1.5 %."""
    panels = shapes.tables["panels"]
    for row in (0, 2, 4, 6):
        at = points_of(shapes, row)
        rings = [SHAPES[row][SHAPES[row][:, 2] == k, :2] for k in np.unique(SHAPES[row][:, 2])]
        solution = solve_many(build(rings, 0.2, cells=48), [at])
        m = float(solution.governing_moment(5.0, 28.5)[0])
        bending = 1.6e-3 * m * 6 / 28.5**2 / 6.0
        pull = 1.6e-3 * solution.reaction.max() * 2 / 2000
        assert max(bending, pull) <= 1.0
        assert bending <= panels["u_layout"][row] * 1.015


def test_anchor_columns_are_those_of_the_positions(shapes: Selected) -> None:
    """Areas add up to the panel; edges by general geometry; roles and slots as the method states them."""
    anchors, panels = shapes.tables["anchors"], shapes.tables["panels"]
    for row, outline in enumerate(SHAPES):
        mine = np.flatnonzero(anchors["candidate"] == panels["candidate"][row])
        x, y = anchors["x"][mine], anchors["y"][mine]
        assert anchors["tributary"][mine].sum() == pytest.approx(panels["net_area"][row], rel=1e-9)
        boundary = outline_of(outline).boundary
        np.testing.assert_allclose(anchors["edge"][mine], shapely.distance(boundary, shapely.points(x, y)), atol=0.005)  # told to 0.01 mm
        assert sorted(anchors["slot"][mine]) == list(range(1, len(mine) + 1))
        assert list(np.lexsort((-x, np.round(y)))) == list(range(len(mine)))  # A1.. from below, from the rear left to right
        assert (anchors["role"][mine] == "fixed").sum() == 1
        assert (anchors["role"][mine] == "sliding").sum() == 1
        assert anchors["hangs"][mine].sum() == 2
        assert (anchors["n_hang"][mine] == 2).all()


@pytest.mark.parametrize("outline", [ELL, TRAPEZOID, CORNER_HOLE, TRIANGLE], ids=["ell", "trapezoid", "corner hole", "triangle"])
def test_mirrored_panels_get_mirrored_layouts(outline: np.ndarray) -> None:
    s = selected(plain.panels([outline, mirror(outline)], w_suction=-1.6e-3))
    first, second = points_of(s, 0), points_of(s, 1)
    first[:, 0] = outline[:, 0].max() - first[:, 0]
    np.testing.assert_allclose(first[np.lexsort(first.T)], second[np.lexsort(second.T)], atol=1e-6)
    assert s.tables["panels"]["u_layout"][0] == pytest.approx(s.tables["panels"]["u_layout"][1], rel=1e-6)


def test_order_of_rows_and_of_vertices_does_not_matter() -> None:
    outlines = [plain.rectangle(1200, 800), ELL, plain.rectangle(600, 900), HOLE]
    w = np.array([-1.5e-3, -1.2e-3, -3e-3, -1e-3])
    straight = selected(plain.panels(outlines, w_suction=w))
    turned = [np.concatenate([np.roll(o[o[:, 2] == k], 2, axis=0) for k in np.unique(o[:, 2])]) for o in outlines]
    back = selected(plain.panels(turned[::-1], w_suction=w[::-1]))
    for row in range(4):
        np.testing.assert_allclose(points_of(straight, row), points_of(back, 3 - row), atol=1e-9)


def test_a_panel_added_elsewhere_changes_nothing() -> None:
    two = selected(plain.panels([plain.rectangle(1200, 800), plain.rectangle(700, 500)]))
    three = selected(plain.panels([plain.rectangle(1200, 800), plain.rectangle(700, 500), ELL], facade_index=np.array([0, 0, 0])))
    for row in (0, 1):
        np.testing.assert_array_equal(points_of(two, row), points_of(three, row))


def test_rows_follow_the_rails() -> None:
    """Anchor rows at the rails' heights + clip offset, rounded to 1 mm; a rail outside the band is not used."""
    rails = Ragged.of([np.array([[20.0, 0, 1], [133.4, 1, 1], [420.2, 2, 1], [655.6, 3, 1]])])
    s = selected(plain.panels([plain.rectangle(1000, 800)], rails_y=rails), Layout(clip_offset_mm=12.0))
    rows = np.unique(points_of(s, 0)[:, 1])
    assert set(rows) <= {145.0, 432.0, 668.0}
    assert len(rows) >= 2
    np.testing.assert_allclose(np.unique(points_of(s, 0)[:, 0] % 5), 0, atol=1e-9)


def test_a_rail_that_is_missing_is_said() -> None:
    rails = Ragged.of([np.array([[400.0, 0, 1]])])
    s = selected(plain.panels([plain.rectangle(1000, 800)], rails_y=rails))
    assert s.tables["panels"]["candidate"][0] == -1
    assert "no permitted pattern fits" in s.tables["panels"]["layout_reason"][0]


def test_anchors_keep_clear_of_what_stands_behind() -> None:
    """A box over the usual place of the lower left anchor; and its mirror image gives the mirrored layout."""
    box = np.array([[60.0, 60.0, 300.0, 300.0]])
    other = np.array([[700.0, 60.0, 940.0, 300.0]])
    s = selected(plain.panels([plain.rectangle(1000, 800)] * 2, keep_out=Ragged.of([box, other])))
    for row, (x0, y0, x1, y1) in enumerate((box[0], other[0])):
        x, y = points_of(s, row).T
        assert not ((x > x0) & (x < x1) & (y > y0) & (y < y1)).any()
    first, second = points_of(s, 0), points_of(s, 1)
    first[:, 0] = 1000 - first[:, 0]
    np.testing.assert_allclose(first[np.lexsort(first.T)], second[np.lexsort(second.T)], atol=1e-6)


def test_small_pieces_are_named() -> None:
    s = selected(plain.panels([plain.rectangle(300, 300), plain.rectangle(180, 900), plain.rectangle(900, 600)]))
    reason = s.tables["panels"]["layout_reason"]
    assert reason[0].startswith("small-piece") and "0.090 m2" in reason[0]
    assert reason[1].startswith("small-piece") and "180 mm" in reason[1]
    assert reason[2] == ""


def test_least_edge_distance_of_tests_holds() -> None:
    """edge_tested of the panel's series is above the item's and the project's."""
    s = selected(plain.panels([plain.rectangle(1000, 800)], edge_tested=140.0))
    assert s.tables["anchors"]["edge"].min() >= 140 - 1e-6


def test_preferred_insets_win_where_as_few_anchors_pass() -> None:
    s = selected(plain.panels([plain.rectangle(1000, 800)]), Layout(preferred_insets_mm=[115.0]))
    np.testing.assert_allclose(s.tables["anchors"]["edge"], 115.0)


def test_what_cannot_be_computed_never_passes() -> None:
    """No strength: nan.  A layout is still proposed, with four anchors, and its utilisation is nan."""
    s = selected(plain.panels([plain.rectangle(1000, 800)], f_d=np.nan))
    panels = s.tables["panels"]
    assert panels["candidate"][0] == 0
    assert panels["n_anchors_selected"][0] == 4
    assert np.isnan(panels["u_layout"][0])


def test_a_panel_that_cannot_pass_says_what_would_help() -> None:
    """Each proposed factor, applied to the data and run anew, passes; a little less of it does not."""
    base = {"w_suction": -14e-3, "R_k": 1e5}
    one = Layout(patterns=["2x2", "3x2"])
    s = selected(plain.panels([plain.rectangle(1200, 900)], **base), one)
    panels = s.tables["panels"]
    assert panels["u_layout"][0] > 1
    f = float(panels["way_out_strength"][0])
    assert f == pytest.approx(panels["u_layout"][0], rel=2e-3)  # bending alone governs, and goes by 1 / f_d
    t = float(panels["t_min"][0])
    assert t * np.sqrt(f) * 0.999 <= t * panels["way_out_thickness"][0] <= t * np.sqrt(f) * 1.001 + 0.1  # u ~ t^-2, told in tenths of a mm
    assert np.isnan(panels["way_out_anchors"][0])  # anchors do not govern
    stronger = selected(plain.panels([plain.rectangle(1200, 900)], **base, f_d=6.0 * f * 1.001), one)
    assert stronger.tables["panels"]["u_layout"][0] <= 1
    assert "flexural strength" in panels["way_out"][0]
    more = str(panels["way_out_pattern"][0])
    assert more and more in panels["way_out"][0]


def test_nothing_to_do_is_no_error() -> None:
    empty = plain.panels([plain.rectangle(300, 300)])
    s = selected(empty)
    assert s.tables["anchors"].n == 0
    assert s.tables["candidates"].n == 0


def test_waves_stop_where_panels_pass() -> None:
    """Fewest anchors: the lightly loaded of two equal panels keeps four, the other gets more."""
    s = selected(plain.panels([plain.rectangle(1100, 1100)] * 2, w_suction=np.array([-1e-3, -7e-3]), R_k=4000.0),
                 Layout(standardise="none"))
    light, heavy = s.tables["panels"]["n_anchors_selected"]
    assert light == 4
    assert heavy > 4
    assert (s.tables["panels"]["u_layout"] <= 1).all()


def test_solver_that_reports_a_mechanism_is_not_believed() -> None:
    def broken(jobs):
        table = plain.rigid(jobs)
        return replace(table, columns={**table.columns, "m_plate": np.full(table.n, np.nan)})
    s = run({"panels": plain.panels([plain.rectangle(1000, 800)]), "facades": plain.facades()}, Layout(), broken,
            plain.evaluate, plain.CHECKS)
    assert np.isnan(s.tables["panels"]["u_layout"][0])


@pytest.mark.parametrize("width", [999.9999, 1000.1, 1000.04, 999.997, 1234.56789])
def test_the_least_edge_distance_is_reached_whatever_the_noise(width: float) -> None:
    """Anchors forced to the least distance: told as 50.00 mm or more, so that a series tested at 50 mm covers them."""
    s = selected(plain.panels([plain.rectangle(width, 800.07)], R_k=1e6), Layout(edge_max_mm=50.0))
    assert s.tables["anchors"]["edge"].min() >= 50.0
    assert s.tables["anchors"]["edge"].max() <= 50.1


def test_hopeless_panels_keep_the_best_layout_that_fits() -> None:
    """Far beyond any pattern, and too small for the largest ones: still a candidate that shows what fails."""
    s = selected(plain.panels([plain.rectangle(420, 420)], w_suction=-0.5))
    panels = s.tables["panels"]
    assert panels["candidate"][0] == 0
    assert panels["u_layout"][0] > 3
    assert "no single change" in panels["way_out"][0]


def test_what_would_help_is_proven_at_the_figure_that_is_told() -> None:
    """The changed panel, built from its own sizes and laid out anew, passes; without rules to run anew it is an estimate."""
    base = {"w_suction": -14e-3, "R_k": 1e5}
    one = Layout(patterns=["2x2", "3x2"])

    def again(changed: Table) -> Table:
        return plain.panels(list(changed["outline"]), t_min=changed["t_min"], **base)
    tables = {"panels": plain.panels([plain.rectangle(1200, 900)], **base), "facades": plain.facades()}
    told = run(tables, one, plain.solve, plain.evaluate, plain.CHECKS, restate=again).tables["panels"]
    assert "mm (proven)" in told["way_out"][0] and "estimated" not in told["way_out"][0]
    assert "(estimated)" in run(tables, one, plain.solve, plain.evaluate, plain.CHECKS).tables["panels"]["way_out"][0]
    small, thick = float(told["way_out_size"][0]), float(told["way_out_thickness"][0])
    assert 100 / small == pytest.approx(round(100 / small)) and 10 * 28.5 * thick == pytest.approx(round(10 * 28.5 * thick))
    for made in (plain.panels([plain.rectangle(1200 / small, 900 / small)], **base), plain.panels([plain.rectangle(1200, 900)], t_min=28.5 * thick, **base)):
        assert selected(made, one).tables["panels"]["u_layout"][0] <= 1


def test_smaller_is_found_where_much_smaller_would_run_out_of_spacing() -> None:
    """3x3 on 640 mm: sides by 3 leave 71 mm between anchors where 100 are asked for, a little smaller does."""
    s = selected(plain.panels([plain.rectangle(640, 640)], w_suction=-90e-3, R_k=1e5), Layout(patterns=["3x3"], edge_mm=50))
    panels = s.tables["panels"]
    assert panels["u_layout"][0] > 1 and 1 < panels["way_out_size"][0] < 2.5


def test_a_thickness_that_tests_cover_is_found_by_trying() -> None:
    """No resistance below 40 mm: scaling what is not known shows nothing, the rules on thicker panels do."""
    def covered(t: np.ndarray) -> np.ndarray:
        return np.where(t >= 40.0, 1e5, np.nan)

    def again(changed: Table) -> Table:
        return plain.panels(list(changed["outline"]), t_min=changed["t_min"], w_suction=-14e-3, R_k=covered(changed["t_min"]))
    one = Layout(patterns=["2x2"])
    tables = {"panels": plain.panels([plain.rectangle(1200, 900)], w_suction=-14e-3, R_k=np.nan), "facades": plain.facades()}
    told = run(tables, one, plain.solve, plain.evaluate, plain.CHECKS, restate=again).tables["panels"]
    assert 40.0 <= 28.5 * told["way_out_thickness"][0] <= 1.25 * 40.0
    assert "mm (proven)" in told["way_out"][0] and "never passes" in told["way_out"][0]
