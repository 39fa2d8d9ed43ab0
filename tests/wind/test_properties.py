"""What holds for every building: scaling with v^2, turning, height, mirroring."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.wind.build import Block, block_tables, plan_of

EN = "en1991-1-4:2005"
sizes = st.tuples(st.floats(6, 80), st.floats(6, 80), st.floats(4, 150))
few = settings(max_examples=15, deadline=None)


def panels(block: Block, standard: str = EN, **keys: object):
    return plan_of(standard, **keys).run("panels", block_tables(block))["panels"]


@few
@given(sizes, st.floats(0.5, 2.0))
def test_pressures_go_with_v_squared(size: tuple[float, float, float], k: float) -> None:
    """EN 1991-1-4 (4.8), (4.10)."""
    block = Block(*size, columns=(4.0, 4.0))
    one, other = panels(block, v_b0_m_s=20.0), panels(block, v_b0_m_s=20.0 * k)
    for name in ("w_suction", "w_pressure"):
        assert other[name] == pytest.approx(one[name] * k**2)


@few
@given(sizes, st.floats(0, 360), st.floats(-180, 180))
def test_turning_building_and_north_changes_nothing(size: tuple[float, float, float], turn: float, north: float) -> None:
    for keys in (dict(), dict(north_deg=north)):
        block = Block(*size, columns=(4.0, 4.0))
        one, other = panels(block), panels(Block(*size, columns=(4.0, 4.0), turn=turn), **keys)
        assert (one["zone"] == other["zone"]).all()
        assert other["w_suction"] == pytest.approx(one["w_suction"]) and other["w_pressure"] == pytest.approx(one["w_pressure"])


@few
@given(st.sampled_from([0.0, 90.0, 180.0, 270.0]), st.lists(st.floats(0.7, 1.0), min_size=4, max_size=12))
def test_turning_the_model_with_its_north_changes_nothing(turn: float, factors: list[float]) -> None:
    """Counter-clockwise by `turn`: the model's y axis then points `turn` to the east of where it pointed."""
    plain = panels(Block(40.0, 15.0, 20.0), c_dir=factors, north_deg=10.0)
    other = panels(Block(40.0, 15.0, 20.0, turn=turn), c_dir=factors, north_deg=10.0 + turn)
    assert other["w_suction"] == pytest.approx(plain["w_suction"]) and other["w_pressure"] == pytest.approx(plain["w_pressure"])


@few
@given(sizes, st.floats(1.0, 3.0), st.sampled_from([EN, "asce7-16", "asce7-22"]))
def test_more_height_never_lowers_the_suction_in_the_same_zone(size: tuple[float, float, float], k: float, standard: str) -> None:
    b, d, h = size
    if standard != EN and h <= 18.288 < h * k:
        return  # ASCE 7 changes its figure at 60 ft
    tables = block_tables(Block(b, d, h, columns=(4.0, 4.0)))
    low = plan_of(standard).run("panels", tables)["panels"]
    high = plan_of(standard, h_m=h * k).run("panels", tables)["panels"]
    same = low["zone"] == high["zone"]
    assert (high["w_suction"][same] <= low["w_suction"][same] + 1e-12).all()


@few
@given(sizes, st.sampled_from([EN, "asce7-16", "asce7-22"]))
def test_left_and_right_mirror_each_other(size: tuple[float, float, float], standard: str) -> None:
    tables = block_tables(Block(*size, columns=(4.0, 4.0)))
    one = plan_of(standard).run("panels", tables)["panels"]
    swapped = tables["panels"].with_columns(s_left=tables["panels"]["s_right"], s_right=tables["panels"]["s_left"])
    other = plan_of(standard).run("panels", {**tables, "panels": swapped})["panels"]
    assert (one["zone"] == other["zone"]).all() and other["w_suction"] == pytest.approx(one["w_suction"])


@few
@given(sizes)
def test_worst_zone_is_never_milder_than_the_mean(size: tuple[float, float, float]) -> None:
    block = Block(*size, columns=(4.0, 4.0))
    assert (panels(block)["w_suction"] <= panels(block, straddle="area-weighted")["w_suction"] + 1e-12).all()


def test_nothing_shorter_than_zone_a_is_milder_than_zone_c() -> None:
    """Zones fall from the edge inwards, so suction does as well, on every facade."""
    found = panels(Block(60.0, 30.0, 12.0))
    for f in set(found["facade"]):
        rows = np.flatnonzero((found["facade"] == f) & (found["z_bottom"] == 0))
        half = rows[found["s_left"][rows] <= found["s_right"][rows]]
        assert (np.diff(found["w_suction"][half[np.argsort(found["s_left"][half])]]) >= -1e-12).all()
