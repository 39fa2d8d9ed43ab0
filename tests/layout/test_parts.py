"""Patterns, geometry, rails, keep and reactions one by one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Ragged
from bimcheck.layout.geometry import geometry, hanging, in_slot_order, thermal_length, tributary_in_polygon
from bimcheck.layout.keep import read_kept
from bimcheck.layout.patterns import beyond, grid, parse, spread, waves
from bimcheck.layout.rails import rows_on_rails
from bimcheck.layout.reactions import rails
from bimcheck.layout.settings import Layout
from bimcheck.layout.sites import sites_of
from bimcheck.layout.waves import run
from tests.layout import plain


def test_patterns_in_waves() -> None:
    assert waves([(3, 2), (2, 2), (2, 3), (3, 3)]) == [(4, [(2, 2)]), (6, [(3, 2), (2, 3)]), (9, [(3, 3)])]
    assert waves([(2, 2), (3, 2)], least=5) == [(6, [(3, 2)])]
    assert beyond([(2, 2)]) == [(2, 3), (3, 2)]
    assert parse("4x3") == (4, 3)
    for bad in ("4", "1x4", "2x", "x"):
        with pytest.raises(InputError):
            parse(bad)


def test_inner_positions_are_rounded_alike_from_both_ends() -> None:
    row = spread(np.array([50.0]), np.array([1152.4]), 4, 5.0)[0]
    np.testing.assert_allclose(row, [50, 415, 787.4, 1152.4])  # by hand: 50 + round(367.47 to 5), and its mirror
    np.testing.assert_allclose(row + row[::-1], 1202.4)


def site(*outlines: np.ndarray) -> list:
    return sites_of(plain.panels(outlines), True)[1]


def test_grid_areas_equal_clipped_voronoi_cells() -> None:
    """The strips of grids against Voronoi cells by general geometry (shapely)."""
    sites = site(plain.rectangle(1000, 700))
    points = in_slot_order(grid(1000, 700, 3, 2, 120, 90)[None])
    strips = geometry(sites, np.array([0]), points).tributary[0]
    np.testing.assert_allclose(strips, tributary_in_polygon(shapely.box(0, 0, 1000, 700), points[0]), rtol=1e-9)
    assert strips.sum() == pytest.approx(700e3)


def test_slots_roles_and_levers() -> None:
    """Seen from the rear, left is the side of large x: A1 there in the lowest row; the fixed anchor is upper left."""
    points = in_slot_order(grid(1000, 700, 3, 2, 120, 90)[None])
    g = geometry(site(plain.rectangle(1000, 700)), np.array([0]), points)
    np.testing.assert_allclose(points[0, 0], [880, 90])
    np.testing.assert_allclose(points[0, -1], [120, 610])
    assert g.role[0].tolist() == ["free", "free", "free", "fixed", "free", "sliding"]
    assert g.y_lever[0] == 520
    assert g.n_hang[0] == 2
    np.testing.assert_allclose(thermal_length(points, g.role)[0, 5], 760)


def test_never_more_than_two_hang() -> None:
    apex_up = np.array([[[100, 100], [900, 100], [500, 600]]], dtype=float)
    hangs, lever = hanging(in_slot_order(apex_up), np.array([300.0]))
    assert hangs.sum() == 2
    assert lever[0] == 500  # the pair is the lower row, the apex holds the couple
    stairs = np.array([[[100, 100], [500, 300], [900, 600]]], dtype=float)
    hangs, _ = hanging(in_slot_order(stairs), np.array([300.0]))
    assert hangs[0].tolist() == [False, True, True]


def test_the_weight_hangs_about_its_centre_where_a_row_does() -> None:
    """A raked panel, tall on the right: the top pair stands beside the centre of gravity at 400, the lower row about it."""
    raked = in_slot_order(np.array([[[100, 100], [900, 100], [100, 300], [900, 300], [700, 700], [900, 700]]], dtype=float))
    hangs, lever = hanging(raked, np.array([400.0]))
    assert sorted(map(tuple, raked[0][hangs[0]])) == [(100, 300), (900, 300)] and lever[0] == 400
    hangs, _ = hanging(raked, np.array([800.0]))
    assert sorted(map(tuple, raked[0][hangs[0]])) == [(700, 700), (900, 700)]


def test_rows_on_rails_are_even_and_in_the_band() -> None:
    rows = rows_on_rails(np.array([40.0, 130, 400, 660, 780]), 2, 60, 740, 250, 100)
    np.testing.assert_array_equal(rows[0], [130, 660])
    assert len(rows) == 3
    assert not len(rows_on_rails(np.array([130.0]), 2, 60, 740, 250, 100))


def test_mirror_images_are_one_site() -> None:
    ell = np.array([[0, 0, 0], [900, 0, 0], [900, 350, 0], [400, 350, 0], [400, 800, 0], [0, 800, 0]], dtype=float)
    image = ell.copy()
    image[:, 0] = 900 - image[:, 0]
    index, sites = sites_of(plain.panels([ell, image[::-1], np.roll(ell, 2, axis=0)]), True)
    straight, turned = sites[index[0]], sites[index[1]]
    for a, b in zip(straight.rings, turned.rings, strict=True):
        np.testing.assert_array_equal(a, b)
    assert straight.flipped != turned.flipped
    np.testing.assert_array_equal(sites[index[2]].rings[0], straight.rings[0])


def test_kept_positions_are_the_only_candidate(tmp_path: Path) -> None:
    """Given as seen from the rear: x = width - x_rear.  Odd positions stay where they are, and are checked."""
    panels = plain.panels([plain.rectangle(1000, 700), plain.rectangle(800, 600)])
    panels = panels.with_columns(guid=np.array(["g0", "g1"], dtype=object), mark=np.array(["P1", "P2"], dtype=object), step_id=np.array([1, 2]))
    file = tmp_path / "anchors.csv"
    file.write_text("panel_guid,x_rear_mm,y_mm\n" + "".join(f"g0,{x},{y}\n" for x, y in ((83, 71), (911, 71), (83, 640), (917, 640))))
    s = run({"panels": panels, "facades": plain.facades()}, Layout(), plain.solve, plain.evaluate, plain.CHECKS,
            kept=read_kept(file, panels))
    a = s.tables["anchors"]
    own = a["candidate"] == s.tables["panels"]["candidate"][0]
    np.testing.assert_allclose(a["x"][own], [917, 89, 917, 83])
    np.testing.assert_allclose(a["y"][own], [71, 71, 640, 640])
    assert s.tables["panels"]["pattern_selected"][0] == "4"
    assert s.tables["panels"]["pattern_selected"][1] == "2x2"


@pytest.mark.parametrize(("text", "what"), [
    ("panel_guid,x_rear_mm\ng0,1\n", "no column y_mm"), ("panel_guid,x_rear_mm,y_mm\ng9,1,2\n", "g9: not among the panels"),
    ("panel_guid,x_rear_mm,y_mm\ng0,one,2\n", "no number"),
    ("panel_guid,x_rear_mm,y_mm\n", "no row"), ("panel_guid,x_rear_mm,y_mm\ng0,1100,200\n", "off the panel"),
    ("panel_guid,x_rear_mm,y_mm\ng0,100,200\ng0,100,200.01\n", "a second anchor"), ("panel_guid,x_rear_mm,y_mm\ng0,100,200,7\n", "more cells"),
    ("mark,x_rear_mm,y_mm\nP1,100,200\n", "P1: the name of several panels")])
def test_bad_anchor_files_are_refused(tmp_path: Path, text: str, what: str) -> None:
    panels = plain.panels([plain.rectangle(1000, 700)] * 2).with_columns(
        guid=np.array(["g0", "g1"], dtype=object), mark=np.array(["P1", "P1"], dtype=object), step_id=np.array([1, 2]))
    file = tmp_path / "anchors.csv"
    file.write_text(text)
    with pytest.raises(InputError, match=what):
        read_kept(file, panels)


def test_forces_by_rail() -> None:
    """Two panels on the rail at 3 m, one of them also at 2.4 m, a third on another facade; by hand."""
    on = rails(np.array([0, 0, 1, 0, 2]), np.array([3000.2, 3000.0, 2999.9, 2400, 3000]), np.array([0, 0, 0, 0, 1]))
    forces = np.array([[100.0], [250], [-80], [40], [7]])
    assert on.facade.tolist() == [0, 0, 1] and on.height.tolist() == [2400, 3000, 3000] and on.anchors.tolist() == [1, 3, 1]
    assert on.most(forces)[:, 0].tolist() == [40, 250, 7]
    assert on.most(-forces)[:, 0].tolist() == [-40, 80, -7]
    assert on.panel_most(forces)[:, 0].tolist() == [40, 350, 7]
    assert on.of_pairs(np.array([True, False, True])).tolist() == [1, 1, 1]


def test_rails_below_the_ground_and_without_a_facade() -> None:
    on = rails(np.array([0, 1]), np.array([-1200.4, 300.0]), np.array([-1, 2]))
    assert on.facade.tolist() == [-1, 2] and on.height.tolist() == [-1200, 300]


def test_sites_differ_by_rails_and_boxes() -> None:
    outlines = [plain.rectangle(1000, 700)] * 3
    rails = Ragged.of([np.array([[100.0, 0, 1]]), np.array([[100.2, 1, 1]]), np.array([[300.0, 0, 1]])])
    index, _ = sites_of(plain.panels(outlines, rails_y=rails), True)
    assert index[0] == index[1] != index[2]
    index, _ = sites_of(plain.panels(outlines, rails_y=rails), False)
    assert len(set(index)) == 1
