"""Every standard of the room makes a plan and delivers the same columns; wrong data are refused with the place named."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.core.errors import InputError
from bimcheck.core.plugins import names
from tests.wind.build import Block, anchors_of, block_tables, plan_of

STANDARDS = ("en1991-1-4:2005", "asce7-16", "asce7-22")
ALL = (*STANDARDS, "tabulated", "tabulated, floor en1991-1-4:2005", "tabulated, floor asce7-16", "tabulated, floor asce7-22")
BLOCK = Block(b=40.0, d=15.0, h=18.0)


def test_standards_are_installed() -> None:
    assert set(STANDARDS) | {"tabulated"} <= set(names("bimcheck.rules"))


@pytest.mark.parametrize("standard", ALL)
def test_the_same_columns(standard: str) -> None:
    columns = plan_of(standard).columns
    for name in ("zone", "w_suction", "w_pressure", "w_basis", "w_serv_suction", "w_serv_pressure", "wind_flags"):
        assert ("panels", name) in columns
    assert {("anchors", "w_anchor_suction"), ("anchors", "w_anchor_pressure")} <= set(columns)
    assert columns["panels", "w_suction"].file == "w_suction_kPa"


@pytest.mark.parametrize("standard", STANDARDS)
def test_signs_and_anchors(standard: str) -> None:
    plan = plan_of(standard)
    done = plan.run("wave", anchors_of(plan.run("panels", block_tables(BLOCK))))
    panels, anchors = done["panels"], done["anchors"]
    assert (panels["w_suction"] < 0).all() and (panels["w_pressure"] > 0).all()
    assert (np.abs(panels["w_serv_suction"]) <= np.abs(panels["w_suction"])).all()
    rows = anchors["candidate"]
    assert (anchors["w_anchor_suction"] <= panels["w_suction"][rows]).all()
    assert (anchors["w_anchor_pressure"] >= panels["w_pressure"][rows]).all()


@pytest.mark.parametrize("keys, place", [
    (dict(terrain="IV", z0_m=0.1), "z_min_m"), (dict(two_skin=True), "7.2.10"), (dict(two_skin=True, internal_pressure=True), "internal_pressure"),
    (dict(c_dir=[0.9, 1.0]), "north_deg"), (dict(wall_table="none_such.csv"), "none_such"), (dict(footprint=[(0, 0), (1, 1)]), "footprint"),
])
def test_refusals(keys: dict, place: str) -> None:
    with pytest.raises(InputError, match=place):
        plan_of("en1991-1-4:2005", **keys).run("panels", block_tables(BLOCK))


@pytest.mark.parametrize("place", ["soffit", "inclined", "folded"])
@pytest.mark.parametrize("standard", STANDARDS)
def test_places_that_wall_zones_do_not_cover(standard: str, place: str) -> None:
    """method: inclined over 15 degrees, soffit and folded are not checked without a table."""
    tables = block_tables(BLOCK)
    n = tables["panels"].n
    some = np.array(["field"] * n, dtype=object)
    some[3] = place
    panels = plan_of(standard).run("panels", {**tables, "panels": tables["panels"].with_columns(place=some)})["panels"]
    assert np.isnan(panels["w_suction"][3]) and np.isnan(panels["w_serv_pressure"][3])
    assert panels["wind_flags"][3].startswith(place) and panels["zone"][3] == ""
    assert np.isfinite(np.delete(panels["w_suction"], 3)).all() and (np.delete(panels["wind_flags"], 3) == "").all()


def test_a_panel_in_no_facade_is_not_checked() -> None:
    tables = block_tables(BLOCK)
    left = tables["panels"]["s_left"].copy()
    left[0] = np.nan
    panels = plan_of("en1991-1-4:2005").run("panels", {**tables, "panels": tables["panels"].with_columns(s_left=left)})["panels"]
    assert np.isnan(panels["w_suction"][0]) and panels["wind_flags"][0].startswith("no-facade")
