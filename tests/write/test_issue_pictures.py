"""Elevations with issues.  Expected places: plane geometry on a facade made by hand, worked out beside each."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from bimcheck.core.issue import Issue, issue_table
from bimcheck.core.tables import Ragged, Table
from bimcheck.reconcile.states import reconcile
from bimcheck.write import issue_pictures
from bimcheck.write.issue_canvas import Canvas, _apart
from bimcheck.write.issue_marks import marks
from bimcheck.write.issue_pictures import pictures
from bimcheck.write.workbook_issues_rows import in_order
from tests.reconcile.made import elements

FACE = np.array([[0.0, 0, 0], [1990, 0, 0], [1990, 990, 0], [0, 990, 0]])


def wall(columns: int = 4, storeys: int = 3, facades: int = 1) -> dict[str, Table]:
    """Panels of 1990 x 990 on a raster of 2 x 1 m; facade k looks south at y = 50 m k, its left end at x = 10 m."""
    n = columns * storeys * facades
    k = np.arange(n)
    column, storey, facade = k % columns, (k // columns) % storeys, k // (columns * storeys)
    whole = elements(tuple(f"P{i}" for i in k), tuple(f"{i:022d}" for i in k)).with_columns(
        storey=np.array([f"{s:02d}" for s in storey], dtype=object), facade=np.array([f"F{f + 1}" for f in facade], dtype=object),
        origin=np.column_stack([1e4 + 2000.0 * column, 5e4 * facade, 1000.0 * storey + 500.0]), u=np.tile([1.0, 0, 0], (n, 1)),
        v=np.tile([0.0, 0, 1], (n, 1)), n=np.tile([0.0, -1, 0], (n, 1)), width=np.full(n, 1990.0), height=np.full(n, 990.0))
    panels = Table("panels", n, {**whole.columns, "element": k, "s_left": 2000.0 * column, "z_bottom": 1000.0 * storey, "z_top": 1000.0 * storey + 990,
                                 "facade_index": facade, "outline": Ragged.of([FACE] * n)})
    names = np.array([f"F{f + 1}" for f in range(facades)], dtype=object)
    return {"elements": whole, "panels": panels, "facades": Table("facades", facades, {"facade_name": names, "facade_length": np.full(facades, 7990.0)})}


def found(tables: dict[str, Table], *issues: Issue) -> Table:
    return in_order(reconcile(issue_table(issues), tables["elements"]))


def clash(panel: int, severity: str = "error", **more: float) -> Issue:
    return Issue("anchor-clash", severity, "t", panel=panel, group="bracket", key=str(more), **more)


def test_marks_stand_where_the_issue_is() -> None:
    """Panel 5 (column 1, storey 1): 300 from its left is 2300 along the facade, 700 above its foot is 1700 above ground."""
    tables = wall()
    x, z = 1e4 + 2300.0, 500.0 + 1700.0
    got = marks(tables["panels"], found(tables, clash(5, x=x, y=0.0, z=z), clash(2, "warning")))
    assert [(m.s, m.z, m.severity) for m in got] == [(2300.0, 1700.0, 0), (4000.0 + 995.0, 495.0, 1)]


def test_only_what_stands_is_marked() -> None:
    tables = wall()
    before = reconcile(issue_table([clash(5), clash(2)]), tables["elements"])
    after = in_order(reconcile(issue_table([clash(2)]), tables["elements"], before))
    assert [m.element for m in marks(tables["panels"], after)] == [2]


def test_the_picture_shows_the_mark_at_its_place_in_colour_and_shape() -> None:
    """8 m in 1500 px: 2300 mm along is LEFT + 2300 / 7990 * 1500 px; below the middle a diamond is wide, a triangle wider."""
    tables = wall()
    (one,), left_out = pictures(tables, found(tables, clash(5, x=1e4 + 2300.0, y=0.0, z=2200.0)))
    assert not left_out and one.says == "Facade F1, seen from outside: 1 error"
    image = np.asarray(Image.open(io.BytesIO(one.png)))
    scale = 1500.0 / 7990.0
    x, y = round(issue_pictures.LEFT + 2300 * scale), round(issue_pictures.TOP + (2990 - 1700) * scale)
    vermillion = (image == (0xD5, 0x5E, 0x00)).all(axis=2)
    assert vermillion[y - 20, x] and vermillion[y, x + 20] and not vermillion[y - 15, x + 15]
    assert (one.width, one.height) == (image.shape[1], image.shape[0])


def test_same_content_same_bytes() -> None:
    tables = wall()
    a, b = (pictures(tables, found(tables, clash(5), clash(1, "info")))[0][0].png for _ in range(2))
    assert a == b


def test_most_errors_first_and_the_rest_is_named() -> None:
    tables = wall(2, 2, facades=4)
    issues = [clash(0, "warning"), clash(4, x=1.0), clash(8, x=1.0), clash(9, x=2.0)]  # F1: a warning, F2: an error, F3: two, F4: none
    drawn, left_out = pictures(tables, found(tables, *issues), most=2)
    assert [p.facade for p in drawn] == ["F3", "F2"] and left_out == ["F1"]


def test_marks_that_run_into_one_another_are_one() -> None:
    """Gravest first; 30 px away joins it, 100 px away stands by itself."""
    got = _apart([(0.0, 0.0, 1, 7), (30.0, 0.0, 0, 3), (20.0, 10.0, 0, 3), (130.0, 0.0, 2, 7)])
    assert [(s, n, same, others) for s, n, _, _, same, others in got] == [(0, 3, 2, True), (2, 7, 1, False)]


def test_axes_cross_where_they_are() -> None:
    """B at x = 14 m is 4 m from the left end; an axis along the facade and one 60 m behind do not cross it."""
    tables = wall()
    rows = [("B", 14e3, -2e3, 14e3, 9e3), ("1", 0.0, 0.0, 3e4, 0.0), ("C", 15e3, 6e4, 15e3, 9e4)]
    axes = Table("axes", 3, {k: np.array([r[i] for r in rows], dtype=object if k == "tag" else float) for i, k in enumerate(("tag", "x0", "y0", "x1", "y1"))})
    assert issue_pictures._crossings(axes, tables["panels"], 7990.0) == [(pytest.approx(4000.0), "B")]


def test_accents_and_other_scripts_are_drawn_or_spelt_plainly() -> None:
    canvas = Canvas(200, 40)
    blank = canvas.png()
    canvas.text(4, 4, "Étage Ω 2", 19, limit=150)
    assert canvas.png() != blank


def test_what_lies_flat_or_has_no_facade_is_not_marked() -> None:
    tables = wall()
    flat = tables["panels"]["z_bottom"].copy()
    flat[0] = tables["panels"]["z_top"][0]
    nowhere = tables["panels"]["facade_index"].copy()
    nowhere[1] = -1
    panels = tables["panels"].with_columns(z_bottom=flat, facade_index=nowhere)
    assert pictures({**tables, "panels": panels}, found(tables, clash(0), clash(1))) == ([], [])


def test_nothing_to_draw_on() -> None:
    tables = wall()
    rows = found(tables, clash(0))
    assert pictures({**tables, "panels": tables["panels"].take(np.zeros(0, dtype=int))}, rows) == ([], [])
    assert pictures(tables, found(tables)) == ([], [])
