"""The rules of ASCE 7 on blocks whose numbers can be followed by hand (US units)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table
from bimcheck.wind.asce7 import edition_of
from tests.wind import by_hand
from tests.wind.build import Block, anchors_of, block_tables, plan_of

FT = 0.3048
PSF = 4.4482216152605 / 0.3048**2 * 1e-6  # MPa
LOW = Block(b=100 * FT, d=50 * FT, h=40 * FT, columns=(5 * FT, 10 * FT))
HIGH = Block(b=100 * FT, d=50 * FT, h=200 * FT, columns=(5 * FT, 10 * FT))


def run(block: Block, standard: str = "asce7-16", place: str = "field", **keys: Any) -> Table:
    tables = block_tables(block)
    places = np.full(tables["panels"].n, place, dtype=object)
    plan = plan_of(standard, v_mph=120.0, exposure="C", **keys)
    return plan.run("panels", {**tables, "panels": tables["panels"].with_columns(place=places)})["panels"]


@pytest.mark.parametrize("block", [LOW, HIGH])
def test_against_the_independent_calculation(block: Block) -> None:
    """5 x 10 ft panels: effective area 50 ft2; a = 5 ft (10 % of 50 ft)."""
    panels = run(block)
    for i in range(0, panels.n, 7):
        near = min(panels["s_left"][i], panels["s_right"][i]) / 304.8
        zone, suction, pressure = by_hand.asce_wall(near, panels["z_top"][i] / 304.8, 50.0, 50.0, block.h / FT, 120.0, "C")
        assert panels["zone"][i] == zone
        assert (panels["w_suction"][i] / PSF, panels["w_pressure"][i] / PSF) == pytest.approx((suction, pressure), rel=5e-4)
    assert panels["a_zone"] == pytest.approx(5 * 304.8)
    assert panels["A_loaded"] == pytest.approx(50 * 304.8**2)


def test_a_narrow_panel_counts_a_third_of_its_span() -> None:
    """26.2: 1 x 10 ft counts as 10 x 10/3 ft2."""
    assert run(Block(LOW.b, LOW.d, LOW.h, (1 * FT, 10 * FT)))["A_loaded"] == pytest.approx(100 / 3 * 304.8**2)


@pytest.mark.parametrize("standard", ["asce7-16", "asce7-22"])
def test_basis_and_deflection(standard: str) -> None:
    """ASD 0.6 of strength (2.4.1); deflection 0.42 of strength level whatever the basis (from memory)."""
    strength, asd = run(LOW, standard), run(LOW, standard, asce_basis="asd")
    assert set(strength["w_basis"]) == {"strength"} and set(asd["w_basis"]) == {"asd"}
    assert asd["w_suction"] == pytest.approx(0.6 * strength["w_suction"])
    assert strength["w_serv_suction"] == pytest.approx(0.42 * strength["w_suction"])
    assert asd["w_serv_suction"] == pytest.approx(strength["w_serv_suction"])


def test_least_pressure_of_16_psf() -> None:
    """30.2.2: a sheltered low wall in weak wind still takes 16 psf each way."""
    plan = plan_of("asce7-16", v_mph=85.0, exposure="B")
    panels = plan.run("panels", block_tables(LOW))["panels"]
    assert panels["w_pressure"] / PSF == pytest.approx(16.0)
    assert panels["w_suction"].max() / PSF == pytest.approx(-16.0)


def test_editions_differ_by_their_own_constants() -> None:
    """Ratio of q_h K_d at 40 ft, exposure C: 2.41 (40/2460)^(2/9.8) / (2.01 (40/900)^(2/9.5)) (Tables 26.11-1)."""
    ratio = 2.41 * (40 / 2460)**(2 / 9.8) / (2.01 * (40 / 900)**(2 / 9.5))
    assert run(LOW, "asce7-22")["w_suction"] == pytest.approx(run(LOW, "asce7-16")["w_suction"] * ratio)


def test_ground_elevation_and_topography() -> None:
    """q goes with K_e = exp(-0.0000362 z_g) (Table 26.9-1 Note 2) and K_zt."""
    assert run(LOW, ground_elevation_ft=5000.0, K_zt=1.3)["q_h"] == pytest.approx(run(LOW)["q_h"] * np.exp(-0.181) * 1.3)


def test_enclosure_and_flat_roof() -> None:
    """Difference of 0.55 - 0.18 times q_h (Table 26.13-1); 0.9 GC_p below flat roofs up to 60 ft only (Figure 30.3-1)."""
    q_h = by_hand.q_16(40.0, 120.0, "C")
    plain = run(LOW)["w_suction"] / PSF
    assert run(LOW, enclosure="partially enclosed")["w_suction"] / PSF - plain == pytest.approx(-0.37 * q_h)
    assert run(LOW, flat_roof=True)["w_suction"] / PSF + 0.18 * q_h == pytest.approx(0.9 * (plain + 0.18 * q_h))
    assert run(HIGH, flat_roof=True)["w_suction"] == pytest.approx(run(HIGH)["w_suction"])


@pytest.mark.parametrize("place", ["recess", "corner-return", "reveal"])
def test_inner_faces_and_returns_take_zone_5(place: str) -> None:
    assert set(run(LOW, place=place)["zone"]) == {"5"}


def test_parapet() -> None:
    """30.9 (from memory): outward q_h (GC_p+ + |GC_p-|); inward q_h (GC_p+ + 2.3), 3.2 at corners; 50 ft2, low."""
    panels = run(LOW, place="parapet")
    q_h, log = by_hand.q_16(40.0, 120.0, "C"), np.log10(50)
    into, edge, corner = 1.1766 - 0.1766 * log, 1.2766 - 0.1766 * log, 1.7532 - 0.3532 * log
    at_corner = panels["zone"] == "5"
    assert panels["w_suction"] / PSF == pytest.approx(-q_h * (into + np.where(at_corner, corner, edge)), rel=5e-4)
    assert panels["w_pressure"] / PSF == pytest.approx(q_h * (into + np.where(at_corner, 3.2, 2.3)), rel=5e-4)


def test_open_cavity_adds_the_face_round_the_corner() -> None:
    """method: as for EN: the worst coefficients of the faces joined, 1.0 and 1.4 at 10 ft2 (Figure 30.3-1)."""
    tiny = Block(LOW.b, LOW.d, LOW.h, (2 * FT, 4 * FT))
    panels = run(tiny, closers="open")
    q_h = by_hand.q_16(40.0, 120.0, "C")
    assert panels["w_suction"].min() / PSF == pytest.approx(-2.4 * q_h)
    assert panels["w_pressure"] / PSF == pytest.approx(2.4 * q_h)


def test_fasteners_take_their_own_area() -> None:
    """26.2: 5 x 10 ft panel, 4 anchors: 12.5 ft2 each, at least the panel's."""
    plan = plan_of("asce7-16", v_mph=120.0, exposure="C")
    done = plan.run("wave", anchors_of(plan.run("panels", block_tables(LOW))))
    q_h = by_hand.q_16(40.0, 120.0, "C")
    first = done["anchors"]["w_anchor_suction"][:4] / PSF  # the panel at the corner is 5 ft wide, so is zone 5
    assert first == pytest.approx(-q_h * (1.7532 - 0.3532 * np.log10(12.5) + 0.18), rel=5e-4)


def test_area_weighted_panels() -> None:
    """A 10 ft panel at the corner, a = 5 ft: half in zone 5, half in 4."""
    block = Block(LOW.b, LOW.d, LOW.h, (10 * FT, 5 * FT))
    worst, mean = run(block), run(block, straddle="area-weighted")
    q_h, log = by_hand.q_16(40.0, 120.0, "C"), np.log10(50)
    out = (1.2766 - 0.1766 * log + 1.7532 - 0.3532 * log) / 2
    assert mean["w_suction"][0] / PSF == pytest.approx(-q_h * (out + 0.18), rel=5e-4)
    assert worst["w_suction"][0] / PSF == pytest.approx(-q_h * (1.7532 - 0.3532 * log + 0.18), rel=5e-4)


def test_other_editions_are_refused() -> None:
    with pytest.raises(InputError, match="asce7-05"):
        edition_of("asce7-05")
