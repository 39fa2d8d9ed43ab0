"""Places against grid axes.  Expected values: plane geometry, worked out by hand beside each."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.relate.grid import axes_table, places


def axis(tag: str, start: tuple[float, float], end: tuple[float, float]) -> SimpleNamespace:
    return SimpleNamespace(tag=tag, start=start, end=end)


def grid(turn: float = 0.0, at: tuple[float, float] = (0.0, 0.0)) -> Table:
    """A, B, C run north at x = 0, 6 m, 12 m; 1, 2, 3 run east at y = 0, 8 m, 16 m; then turned and moved."""
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    rows = [(t, (x, 0.0), (x, 16e3)) for t, x in (("A", 0.0), ("B", 6e3), ("C", 12e3))]
    rows += [(t, (0.0, y), (12e3, y)) for t, y in (("1", 0.0), ("2", 8e3), ("3", 16e3))]
    return axes_table(axis(t, *((c * x - s * y + at[0], s * x + c * y + at[1]) for x, y in ends)) for t, *ends in rows)


def test_nearest_axis_of_both_families_with_signed_offsets() -> None:
    points = np.array([[7200.0, 15600.0, 9e3], [5000.0, -300.0, 0.0], [12e3, 8e3, 0.0], [np.nan, 0.0, 0.0]])
    # x = 7.2 is 1.2 beyond B (6.0), y = 15.6 is 0.4 short of 3 (16.0); x = 5.0 is 1.0 short of B, y = -0.3 is before 1.
    assert places(points, grid()).tolist() == ["B +1.20 m, 3 -0.40 m", "B -1.00 m, 1 -0.30 m", "C +0.00 m, 2 +0.00 m", ""]


def test_a_turned_and_moved_grid_says_the_same() -> None:
    """Rigid motion of points and axes changes nothing."""
    turn, at = 33.0, (4.5e6, -1.2e6)
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    points = np.array([[7200.0, 15600.0], [5000.0, -300.0]])
    moved = points @ np.array([[c, s], [-s, c]]) + at
    assert places(moved, grid(turn, at)).tolist() == places(points, grid()).tolist()


def test_plus_is_towards_the_axes_that_follow_however_they_are_drawn() -> None:
    backwards = axes_table([axis("B", (6e3, 16e3), (6e3, 0.0)), axis("A", (0.0, 0.0), (0.0, 16e3))])
    assert places(np.array([[5000.0, 1e3], [7000.0, 1e3]]), backwards).tolist() == ["B +1.00 m", "B -1.00 m"]


def test_two_wings_each_use_their_own_axes() -> None:
    """A second wing 100 m off, its axes at 45 degrees: the first wing's axes do not reach it."""
    h = 10e3 / np.sqrt(2)
    wing = [axis("W", (100e3, 0.0), (100e3 + h, h)), axis("X", (100e3, 0.0), (100e3 - h, h))]
    own = [axis(t, (x0, y0), (x1, y1)) for t, x0, y0, x1, y1 in zip(*(grid()[k].tolist() for k in ("tag", "x0", "y0", "x1", "y1")), strict=True)]
    got = places(np.array([[100e3, 1000.0], [6e3, 8e3]]), axes_table([*own, *wing]))
    # (0, 1) from the corner: 0.71 m from either axis.
    assert got.tolist() == ["W -0.71 m, X +0.71 m", "B +0.00 m, 2 +0.00 m"]


def test_no_axes_and_axes_out_of_reach_say_nothing() -> None:
    points = np.array([[1.0, 2.0, 3.0]])
    assert places(points, axes_table([])).tolist() == [""]
    assert places(points + 1e6, grid()).tolist() == [""]


def test_an_axis_that_several_files_hold_stands_once() -> None:
    twice = [axis("A", (0.0, 0.0), (0.0, 5e3))] * 2
    assert axes_table([*twice, axis("", (1.0, 0.0), (1.0, 9.0)), axis("P", (0.0, 0.0), (0.0, 0.0))])["tag"].tolist() == ["A"]
