"""Tables from a wind-tunnel study: looked up, refused with the place named, floored."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table
from tests.wind.build import Block, anchors_of, block_tables, plan_of

HEAD = "facade,z_from_m,z_to_m,s_from_m,s_to_m,suction_kPa,pressure_kPa,basis"
BLOCK = Block(b=12.0, d=12.0, h=12.0, columns=(3.0, 3.0))


def write(path: Path, lines: list[str]) -> str:
    path.write_text("\n".join([HEAD, *lines]) + "\n")
    return str(path)


def four(cells: list[str]) -> list[str]:
    return [f"F{k},{cell}" for k in (1, 2, 3, 4) for cell in cells]


def whole(tmp: Path, basis: str = "characteristic") -> str:
    """Two heights, two widths on each facade; invented pressures."""
    return write(tmp / "study.csv", four([f"0,6,0,4,-1.5,0.8,{basis}", f"0,6,4,12,-0.9,0.7,{basis}",
                                          f"6,12,0,4,-1.9,1.0,{basis}", f"6,12,4,12,-1.1,0.9,{basis}"]))


def run(path: str, standard: str = "tabulated", block: Block = BLOCK, **keys: Any) -> Table:
    return plan_of(standard, table=path, **keys).run("panels", block_tables(block))["panels"]


def test_each_panel_takes_the_worst_row_it_touches(tmp_path: Path) -> None:
    """Panels of 3 m: the second (3..6 m) touches both widths."""
    panels = run(whole(tmp_path))
    first = panels["facade"] == "F1"
    column = np.round(panels["s_left"][first] / 3000).astype(int)
    high = panels["z_bottom"][first] > 5999
    assert panels["w_suction"][first] * 1e3 == pytest.approx(np.where(column < 2, np.where(high, -1.9, -1.5), np.where(high, -1.1, -0.9)))
    assert panels["w_pressure"][first] * 1e3 == pytest.approx(np.where(column < 2, np.where(high, 1.0, 0.8), np.where(high, 0.9, 0.7)))
    assert set(panels["zone"]) == {"table"} and set(panels["w_basis"]) == {"characteristic"}
    assert panels["w_serv_suction"] == pytest.approx(panels["w_suction"])


def test_a_panel_that_ends_on_a_line_does_not_touch_what_lies_beyond(tmp_path: Path) -> None:
    path = write(tmp_path / "t.csv", four(["0,12,0,6,-2,1,strength", "0,12,6,12,-1,1,strength"]))
    panels = run(path)
    assert panels["w_suction"][panels["s_left"] > 5999] * 1e3 == pytest.approx(-1.0)
    assert panels["w_serv_suction"] == pytest.approx(0.42 * panels["w_suction"])


def test_anchors_take_their_panels_row(tmp_path: Path) -> None:
    plan = plan_of("tabulated", table=whole(tmp_path))
    done = plan.run("wave", anchors_of(plan.run("panels", block_tables(BLOCK))))
    assert done["anchors"]["w_anchor_suction"] == pytest.approx(done["panels"]["w_suction"][done["anchors"]["candidate"]])


@pytest.mark.parametrize("cells, what, place", [
    (["0,6,0,12,-1,1,strength", "7,12,0,12,-1,1,strength"], "gap", r"facade F1, height 6 to 7 m, 0 to 12 m"),
    (["0,7,0,12,-1,1,strength", "6,12,0,12,-1,1,strength"], "overlap", r"facade F1, height 6 to 7 m"),
    (["0,12,0,5,-1,1,strength", "0,12,6,12,-1,1,strength"], "gap", r"5 to 6 m from its left end"),
    (["0,12,0,11,-1,1,strength"], "does not reach", r"facade F1, height 0\.00 to 3\.00 m, 9\.00 to 12\.00 m"),
    (["0,11,0,12,-1,1,strength"], "does not reach", r"height 9\.00 to 12\.00 m"),
    (["0,12,0,12,1,1,strength"], "suction must be at most 0", r"row 2"),
    (["12,0,0,12,-1,1,strength"], "range must rise", r"row 2"),
    (["0,12,0,12,,1,strength"], "no number", r"row 2"),
    (["0,6,0,12,-1,1,strength", "6,12,0,12,-1,1,asd"], "one basis", "study"),
    (["0,12,0,12,-1,1,"], "one basis", "study"),
])
def test_wrong_tables_are_refused(tmp_path: Path, cells: list[str], what: str, place: str) -> None:
    path = write(tmp_path / "study.csv", four(cells))
    with pytest.raises(InputError, match=what) as caught:
        run(path)
    assert caught.match(what)
    assert re.search(place, str(caught.value))


def test_a_facade_without_rows_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "t.csv", [f"F{k},0,12,0,12,-1,1,strength" for k in (1, 2, 3)])
    with pytest.raises(InputError, match="facade F4"):
        run(path)


def test_a_standard_as_floor(tmp_path: Path) -> None:
    """The greater of the table and 0.8 of EN 1991-1-4, in both directions."""
    path = write(tmp_path / "t.csv", four(["0,12,0,12,-0.9,0.2,characteristic"]))
    keys = dict(v_b0_m_s=25.0, terrain="II")
    alone = plan_of("en1991-1-4:2005", **keys).run("panels", block_tables(BLOCK))["panels"]
    panels = run(path, "tabulated, floor en1991-1-4:2005", floor=0.8, **keys)
    assert panels["w_suction"] == pytest.approx(np.minimum(-0.9e-3, 0.8 * alone["w_suction"]))
    assert panels["w_pressure"] == pytest.approx(np.maximum(0.2e-3, 0.8 * alone["w_pressure"]))
    assert set(panels["zone"]) <= {"A", "B", "C", "E"}
    assert 0 < np.isclose(panels["w_suction"], -0.9e-3).sum() < panels.n


def test_table_and_floor_need_one_basis(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="basis"):
        run(whole(tmp_path), "tabulated, floor asce7-16")
    panels = run(whole(tmp_path, "strength"), "tabulated, floor asce7-22")
    assert set(panels["w_basis"]) == {"strength"}


def test_a_table_covers_soffits_where_the_floor_does_not(tmp_path: Path) -> None:
    tables = block_tables(BLOCK)
    soffit = np.full(tables["panels"].n, "soffit", dtype=object)
    tables = {**tables, "panels": tables["panels"].with_columns(place=soffit)}
    panels = plan_of("tabulated, floor en1991-1-4:2005", table=whole(tmp_path)).run("panels", tables)["panels"]
    assert np.isfinite(panels["w_suction"]).all() and (panels["wind_flags"] == "").all()
    assert panels["w_suction"].min() * 1e3 == pytest.approx(-1.9)
