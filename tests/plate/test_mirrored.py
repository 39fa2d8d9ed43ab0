"""Rectangles by their mirror lines and in groups: the same as the whole grid in one band, one plate at a time."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from bimcheck.plate.banded import banded
from bimcheck.plate.group import Group
from bimcheck.plate.points import solve_many
from bimcheck.plate.shape import Plate, build
from bimcheck.plate.solutions import Solutions, join
from bimcheck.plate.topology import topology
from tests.plate.shapes import box, grid

WIDTH, HEIGHT = 1250.0, 700.0
LAYOUTS = {
    "both lines": grid([200, 1050], [120, 580]),
    "both, anchors on the lines": grid([200, 625, 1050], [120, 350, 580]),
    "one line": grid([200, 1050], [90, 580]),
    "the other": grid([180, 1050], [120, 580]),
    "none": np.array([[150.0, 90], [1100, 130], [230, 610], [1010, 570], [600, 350]]),
    "half a turn": np.array([[150.0, 90], [1100, 610], [300, 500], [950, 200]]),
}


def one_band(plate: Plate) -> Plate:
    """The same plate by the whole grid, pinned at three corners."""
    top = topology(plate.grid.nx, plate.grid.ny)
    pins = top.number[[0, -2, 0], [0, 0, -2]]
    return replace(plate, solver=banded(plate.grid, top, None, plate.nu, pins))


def assert_same(a: Solutions, b: Solutions) -> None:
    for f in fields(Solutions):
        first, second = (np.asarray(getattr(s, f.name), dtype=float) for s in (a, b))
        finite = np.abs(second[np.isfinite(second)])
        np.testing.assert_allclose(first, second, rtol=1e-7, atol=1e-9 * finite.max(initial=0.0), err_msg=f.name)


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_quarter_gives_what_the_whole_gives(name: str) -> None:
    """Each layout alone, so that the parts it cannot have are left out; rigid, elastic, an anchor lost, one moved."""
    at = LAYOUTS[name]
    plate = build([box(0, 0, WIDTH, HEIGHT)], 0.2)
    whole = one_band(plate)
    for spring in (np.inf, 2e-4):
        assert_same(solve_many(plate, [at], spring=spring), solve_many(whole, [at], spring=spring))
    assert_same(solve_many(plate, [at], lost=[1]), solve_many(whole, [at], lost=[1]))
    assert_same(solve_many(plate, [at], settled=[2], spring=2e-4), solve_many(whole, [at], settled=[2], spring=2e-4))


def test_layouts_of_all_kinds_together() -> None:
    plate = build([box(0, 0, WIDTH, HEIGHT)], 0.2)
    layouts = [*LAYOUTS.values(), grid([200, 1050], [120, 580])[:3], grid([200, 1300], [120, 580])]  # and one off the plate
    assert_same(solve_many(plate, layouts), solve_many(one_band(plate), layouts))


def test_plates_read_together_are_those_read_alone() -> None:
    """Other sides, corners elsewhere, another Poisson's ratio, layouts of other counts; one grid of cells."""
    plates, layouts, of = [], [], []
    for k, (x, y, width, height, nu) in enumerate([(0, 0, 1250, 700, 0.2), (40, -300, 900, 510, 0.3), (5, 5, 610.4, 350.2, 0.0)]):
        plates.append(build([box(x, y, x + width, y + height)], nu, 24))
        scale = np.array([width / WIDTH, height / HEIGHT])
        some = list(LAYOUTS.values())[k : k + 4]
        layouts += [a * scale + [x, y] for a in some]
        of += [k] * len(some)
    springs = np.where(np.arange(len(of)) % 2, np.inf, 3e-4)
    together = solve_many(Group(tuple(plates), np.array(of)), layouts, spring=springs)
    alone = [solve_many(plates[k], [a], spring=s) for k, a, s in zip(of, layouts, springs, strict=True)]
    assert len({(p.grid.nx, p.grid.ny) for p in plates}) == 1
    assert_same(together, join(alone))
