"""The rules of EN 1991-1-4 on a block whose numbers can be followed by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.core.tables import Table
from bimcheck.wind import findings
from bimcheck.wind.dynamics import frequency
from bimcheck.wind.site import least_width, outline
from tests.wind import by_hand
from tests.wind.build import Block, M, anchors_of, block_tables, facade_table, panel_table, plan_of

EN = "en1991-1-4:2005"
V_B, TERRAIN = 25.0, "II"
SLAB = Block(b=60.0, d=12.0, h=30.0, columns=(1.5, 3.0))
Q_H = by_hand.q_p(30.0, V_B, TERRAIN)


def run(block: Block | dict[str, Table], **keys: Any) -> Table:
    tables = block_tables(block) if isinstance(block, Block) else block
    return plan_of(EN, v_b0_m_s=V_B, terrain=TERRAIN, **keys).run("panels", tables)["panels"]


def with_place(block: Block, place: str, **columns: Any) -> dict[str, Table]:
    tables = block_tables(block)
    n = tables["panels"].n
    return {**tables, "panels": tables["panels"].with_columns(place=np.full(n, place, dtype=object), **columns)}


def one(length: float, s: float, w: float, **columns: Any) -> dict[str, Table]:
    """One panel at s on a facade of the given length; building 60 x 12 x 30 m."""
    facades = facade_table(["F1"], np.array([[0.0, -1.0, 0.0]]), [length], [60.0], [12.0])
    return {"facades": facades, "panels": panel_table(np.array([[0, s, w, 3.0, 3.0]]), np.array([length]), 30.0, **columns)}


def test_zones_of_a_slab_block() -> None:
    """Long side: wind along it has b = 12, d = 60, e = 12: A to 2.4 m, B to 12 m, C beyond from either end; h/d of the wind
    from behind is 30/12 = 2.5: E -0.575 governs over C -0.5 (Table 7.1)."""
    panels = run(SLAB)
    long_side = panels["facade"] == "F1"
    s = np.minimum(panels["s_left"], panels["s_right"])[long_side] / M
    assert (panels["zone"][long_side] == np.where(s < 2.4 - 1e-9, "A", np.where(s < 12 - 1e-9, "B", "E"))).all()
    middle = long_side & (panels["zone"] == "E")
    assert panels["w_suction"][middle] * 1e6 == pytest.approx(-0.575 * Q_H)
    # Short side: b = 60, d = 12, e = 60 = 5 d: A only.
    assert set(panels["zone"][panels["facade"] == "F2"]) == {"A"}


def test_low_long_block_has_zone_C() -> None:
    """60 x 40 x 9 m: e = min(40, 18) = 18; h/d = 9/40 = 0.225: E -0.3, so C -0.5 governs beyond 18 m from both ends."""
    panels = run(Block(b=60.0, d=40.0, h=9.0))
    s = np.minimum(panels["s_left"], panels["s_right"]) / M
    far = (panels["facade"] == "F1") & (s > 18)
    assert far.any() and set(panels["zone"][far]) == {"C"}


def test_pressure_takes_the_strip_of_the_panels_top() -> None:
    """b = 12, h = 30 > 2 b on the short side: parts to 12, 17, 18 (top b begins at 18) and 30 m; D 1.0 at 1 m2 or less."""
    panels = run(Block(b=60.0, d=12.0, h=30.0, columns=(1.0, 1.0)))
    short = panels["facade"] == "F2"
    top = panels["z_top"][short] / M
    expected = np.select([top <= 12.001, top <= 17.001, top <= 18.001], [12, 17, 18], 30)
    assert panels["z_e"][short] / M == pytest.approx(expected)
    by_q = [by_hand.q_p(z, V_B, TERRAIN) for z in expected]
    assert panels["w_pressure"][short] * 1e6 == pytest.approx(by_q)


def test_area_weighted_counts_for_the_panel_only() -> None:
    """A panel of 3 m from 1.4 m on: 1.0 m in A, 2.0 m in B (e/5 = 2.4 m); 9 m2: cpe A -1.2092, B -0.8137 (Figure 7.2)."""
    tables = one(60.0, 1.4, 3.0)
    area = np.log10(9.0)
    c_A, c_B = -1.4 + 0.2 * area, -1.1 + 0.3 * area
    worst, mean = run(tables), run(tables, straddle="area-weighted")
    assert worst["w_suction"] * 1e6 == pytest.approx(c_A * Q_H)
    assert mean["w_suction"] * 1e6 == pytest.approx((c_A + 2 * c_B) / 3 * Q_H)
    plan = plan_of(EN, v_b0_m_s=V_B, terrain=TERRAIN, straddle="area-weighted")
    anchors = plan.run("wave", anchors_of(plan.run("panels", tables)))["anchors"]
    own_A, own_B = (c + dc * np.log10(9 / 4) for c, dc in ((-1.4, 0.2), (-1.1, 0.3)))
    # The anchors' halves reach from 1.4 to 2.9 m (touches A) and from 2.9 to 4.4 m (B only).
    assert anchors["w_anchor_suction"] * 1e6 == pytest.approx(np.array([own_B, own_A, own_B, own_A]) * Q_H)


def test_staggered_anchors_take_the_worst_their_row_can_reach() -> None:
    """Two below, one above in the middle: the single one of its row may reach over the panel's whole width: zone A."""
    tables = one(60.0, 2.0, 4.0)
    plan = plan_of(EN, v_b0_m_s=V_B, terrain=TERRAIN)
    done = anchors_of(plan.run("panels", tables))
    anchors = Table("anchors", 3, dict(candidate=np.zeros(3, dtype=int), x=np.array([3200.0, 800.0, 2000.0]), y=np.array([400.0, 400.0, 2600.0]),
                                       tributary=np.full(3, 1e6)))
    done = plan.run("wave", {**done, "anchors": anchors})["anchors"]
    assert done["tributary_left"].tolist() == [2000, 0, 0] and done["tributary_right"].tolist() == [4000, 2000, 4000]
    # At least the panel's own: 12 m2 in zone A, -1.2; own areas of 1 m2 take cpe,1.
    assert done["w_anchor_suction"] * 1e6 == pytest.approx(np.array([-1.2, -1.4, -1.4]) * Q_H)


@pytest.mark.parametrize("kind, place", [("recess", "field"), ("courtyard", "field"), ("outer", "recess")])
def test_inner_faces_take_zone_A(kind: str, place: str) -> None:
    tables = one(60.0, 30.0, 3.0, place=np.array([place], dtype=object))
    tables["facades"] = tables["facades"].with_columns(facade_kind=np.array([kind], dtype=object))
    panels = run(tables)
    assert panels["zone"][0] == "A"
    assert panels["w_suction"] * 1e6 == pytest.approx((-1.4 + 0.2 * np.log10(9.0)) * Q_H)


@pytest.mark.parametrize("place", ["corner-return", "reveal"])
def test_returns_take_the_worst_of_both_faces(place: str) -> None:
    """Return of 0.5 x 1 m: A by c_pe,1; pressure 1.0 at the greater reference height of the two faces (Figure 7.4)."""
    tables = with_place(Block(b=60.0, d=12.0, h=30.0, columns=(0.5, 1.0)), place)
    panels, plain = run(tables), run(Block(b=60.0, d=12.0, h=30.0, columns=(0.5, 1.0)))
    assert set(panels["zone"]) == {"A"}
    assert panels["w_suction"] * 1e6 == pytest.approx(-1.4 * Q_H)
    assert panels["w_pressure"] * 1e6 == pytest.approx(Q_H)
    assert (panels["w_suction"] <= plain["w_suction"]).all() and (panels["w_pressure"] >= plain["w_pressure"]).all()


def test_parapet_takes_the_net_coefficient_both_ways() -> None:
    """EN 1991-1-4 Table 7.9 (from memory): l/h = 60/1.5 = 40 >= 10: 1.2 beyond 4 h = 6 m, 3.4 within 0.45 m of the end."""
    far, near = (run(one(60.0, s, 1.0, place=np.array(["parapet"], dtype=object))) for s in (30.0, 0.1))
    assert far["w_pressure"] * 1e6 == pytest.approx(1.2 * Q_H)
    assert far["w_suction"] * 1e6 == pytest.approx(-1.2 * Q_H)
    assert near["w_suction"] * 1e6 == pytest.approx(-3.4 * Q_H)
    assert near["wind_flags"][0].startswith("note: parapet")


def test_open_cavity_adds_the_face_round_the_corner() -> None:
    """method: 1.0 + 1.4 at a corner, for a panel of 1 m2 at most."""
    panels = run(one(60.0, 0.0, 0.3), closers="open")  # 0.9 m2
    assert panels["w_suction"] * 1e6 == pytest.approx(-2.4 * Q_H)
    assert panels["w_pressure"] * 1e6 == pytest.approx(2.4 * Q_H)  # b = 60 >= h: z_e = h


def test_internal_pressure_only_where_the_panel_is_the_only_skin() -> None:
    """EN 1991-1-4 7.2.9(6) Note 2: +0.2 adds to suction, -0.3 to pressure."""
    plain, only = run(one(60.0, 0.0, 0.3)), run(one(60.0, 0.0, 0.3), internal_pressure=True)
    assert (only["w_suction"] - plain["w_suction"]) * 1e6 == pytest.approx(-0.2 * Q_H)
    assert (only["w_pressure"] - plain["w_pressure"]) * 1e6 == pytest.approx(0.3 * Q_H)


def test_two_skins_by_setting_and_said_so() -> None:
    """EN 1991-1-4 7.2.10(3) (from memory): a third of the suction, two thirds of the pressure."""
    plain = run(SLAB)
    less = run(SLAB, two_skin=True, cavity_gap_mm=60.0, inner_permeability=0.0005)
    assert less["w_suction"] == pytest.approx(plain["w_suction"] / 3)
    assert less["w_pressure"] == pytest.approx(plain["w_pressure"] * 2 / 3)
    assert all("7.2.10" in text for text in less["wind_flags"])
    assert [(i.rule, i.severity, i.facade) for i in findings.find({"panels": less}, {})] == [("wind-note", "info", f"F{k}") for k in (1, 2, 3, 4)]


def test_direction_factors_follow_the_wind() -> None:
    """Four sectors N, E, S, W = 1.0, 0.8, 0.8, 0.9; +-45 degrees touches only its own sector.  F1 looks south: wind onto it
    0.8, from the left (west) 0.9, from the right (east) 0.8, from behind (north) 1.0."""
    keys = dict(c_dir=[1.0, 0.8, 0.8, 0.9], north_deg=0.0)
    plain, turned = run(SLAB), run(SLAB, **keys)
    left = (plain["facade"] == "F1") & (plain["s_left"] < 2400 - 1e-3)
    right = (plain["facade"] == "F1") & (plain["s_right"] < 2400 - 1e-3)
    back = (plain["facade"] == "F1") & (plain["zone"] == "E")
    ratio = turned["w_suction"] / plain["w_suction"]
    assert ratio[left] == pytest.approx(0.9**2) and ratio[right] == pytest.approx(0.8**2) and ratio[back] == pytest.approx(1.0)
    assert (turned["w_pressure"] / plain["w_pressure"])[left] == pytest.approx(0.8**2)


def test_greatest_factor_within_45_degrees() -> None:
    """Twelve sectors of 30 degrees: +-45 degrees of north touch the sectors at -30, 0 and 30 only."""
    factors = [0.8] * 12
    factors[2] = 1.0  # centred on 60 degrees
    panels = run(SLAB, c_dir=factors, north_deg=0.0)
    assert set(np.round(panels["w_pressure"] / run(SLAB)["w_pressure"], 9)) == {0.64, 1.0}
    onto = {f: (panels["w_pressure"] / run(SLAB)["w_pressure"])[panels["facade"] == f][0] for f in ("F1", "F2", "F3", "F4")}
    assert onto == pytest.approx({"F1": 0.64, "F2": 1.0, "F3": 0.64, "F4": 0.64})  # F2 looks east, 90 - 60 < 45


def test_height_and_footprint_of_the_project_override_the_model() -> None:
    """A file of one facade: b, d, h come from the project file; the plan is turned by 30 degrees."""
    turn = np.radians(30.0)
    along, onto = np.array([np.cos(turn), np.sin(turn)]), np.array([np.sin(turn), -np.cos(turn)])
    corners = [tuple(p) for p in (0 * along, 60 * along, 60 * along - 12 * onto, -12 * onto)]
    tables = one(60.0, 30.0, 3.0, h_building=np.array([6000.0]))
    wrong = tables["facades"].with_columns(facade_n=np.array([[*onto, 0.0]]), facade_b=np.array([3e3]), facade_d=np.array([0.0]))
    panels = run({**tables, "facades": wrong}, h_m=30.0, footprint=corners)
    zone, suction, pressure = by_hand.en_wall(30.0, 27.0, 6.0, 9.0, 60.0, 12.0, 30.0, V_B, TERRAIN)
    assert (panels["zone"][0], panels["w_suction"][0] * 1e6, panels["w_pressure"][0] * 1e6) == (zone, pytest.approx(suction), pytest.approx(pressure))


def test_least_width_of_a_plan() -> None:
    """Rectangle 60 x 12 turned by 30 degrees: 12 m; an L of two 10 m wide, 30 m long wings: the width square to the chord
    of its outer ends, (10 + 30) / sqrt 2 = 28.28 m."""
    t = np.radians(30.0)
    turned = np.array([(0, 0), (60, 0), (60, 12), (0, 12)]) @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
    assert least_width(outline([tuple(p) for p in turned])) == pytest.approx(12_000.0)
    assert least_width(outline([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)])) == pytest.approx(40_000 / np.sqrt(2))


@pytest.mark.parametrize("block, part", [(Block(100.0, 60.0, 200.5), "200 m"), (Block(30.0, 10.0, 51.0), "h/d")])
def test_outside_the_range_there_are_pressures_a_flag_and_one_issue_a_facade(block: Block, part: str) -> None:
    panels = run(block)
    assert np.isfinite(panels["w_suction"]).all()
    flagged = np.array([part in text for text in panels["wind_flags"]])
    assert flagged.any()
    issues = [i for i in findings.find({"panels": panels}, {}) if part in i.text]
    assert len(issues) == len(set(panels["facade"][flagged])) and {i.severity for i in issues} == {"warning"}


@pytest.mark.parametrize("block", [Block(100.0, 60.0, 200.0), Block(30.0, 10.0, 50.0)])
def test_at_the_limits_nothing_is_flagged(block: Block) -> None:
    """z = 200 m is inside; h/d = 5 on the 30 m side is inside."""
    panels = run(block)
    assert (panels["wind_flags"][panels["facade"] == "F1"] == "").all()


def test_season_altitude_probability_and_density_scale_the_pressure() -> None:
    """(4.1), (4.10): q goes with c_season^2, c_alt^2, c_prob^2 and rho; c_prob(p = 0.1) = 0.90248 (4.2)."""
    plain = run(SLAB)["w_suction"]
    scaled = run(SLAB, c_season=0.9, c_alt=1.1, exceedance=0.1, rho_kg_m3=1.2)["w_suction"]
    assert scaled / plain == pytest.approx((0.9 * 1.1 * 0.90248)**2 * 1.2 / 1.25, rel=1e-4)


def test_roughness_of_the_project_and_orography() -> None:
    """z0 0.05, z_min 2 is terrain II; c_o 1.2: v_m and the denominator of I_v take it, (4.3), (4.7)."""
    assert run(SLAB, z0_m=0.05, z_min_m=2.0)["w_suction"] == pytest.approx(run(SLAB)["w_suction"])
    log = np.log(30 / 0.05)
    expected = 1.2**2 * (1 + 7 / (1.2 * log)) / (1 + 7 / log)
    assert run(SLAB, c_o=1.2)["w_suction"] / run(SLAB)["w_suction"] == pytest.approx(expected)


def test_first_frequency() -> None:
    """f = sqrt(g / delta) / (2 pi): 9.94 mm gives 5 Hz (9806.65 / (10 pi)^2)."""
    assert frequency(np.array([9806.65 / (10 * np.pi)**2])) == pytest.approx(5.0)
    plan = plan_of(EN)
    done = plan.run("wave", anchors_of(plan.run("panels", block_tables(SLAB))))["candidates"]
    # 3 m strip of granite: q = 2700 * 9.80665 * 0.032 Pa, EI = 50 GPa 28^3 / (12 (1 - 0.04)) per mm.
    q, D = 2700 * 9.80665 * 0.032e-6, 50_000 * 28**3 / (12 * 0.96)
    assert done["f_1"][0] == pytest.approx(np.sqrt(9806.65 / (5 / 384 * q * 3000**4 / D)) / (2 * np.pi))
    assert (done["dynamic_flag"] == np.where(done["f_1"] < 5, done["dynamic_flag"], "")).all()
