"""Zones and pressures of every panel and anchor of the models with known truth, against the independent calculation made
from the stated building dimensions."""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from bimcheck.core.tables import Table
from tests.shared import shared_models
from tests.wind import by_hand
from tests.wind.build import anchors_of, facade_table, panel_table, plan_of

CASES = ("c01_tower", "c03_imperial_mapped", "c04a_mapconversion", "c05_plan_shape", "c06a_reentrant_plan",
         "c06b_reentrant_plan", "c09_classes_bodies", "c13_federated")
FT = 0.3048
PSF = 4.4482216152605 / 0.3048**2  # Pa, from the pound-force and the foot


@dataclass(frozen=True)
class Case:
    tables: dict[str, Table]
    h: float
    rows: list[dict[str, str]]
    sides: dict[str, dict]
    worst: dict[str, bool]
    least: float


def _case(folder: Path, name: str) -> Case:
    stated = json.loads((folder / f"{name}.json").read_text())
    sides = {f["id"]: f for f in stated["facades"]}
    # A facade with a re-entrant end lies in a notch or courtyard of these plans.
    worst = {k: "reentrant" in (f["left_corner"], f["right_corner"]) for k, f in sides.items()}
    with (folder / f"{name}.truth.csv").open(newline="") as file:
        rows = [r for r in csv.DictReader(file) if r["kind"] == "panel" and not r["reason"] and r["facade"] in sides
                and abs(float(r["tilt_deg"])) < 1 and r["net_area_m2"]]
    names = list(sides)
    length = np.array([sides[k]["length_m"] for k in names])
    facades = facade_table(
        names, np.array([sides[k]["normal"] for k in names]), length, [sides[k]["b_m"] for k in names], [sides[k]["d_m"] for k in names],
        facade_kind=np.array(["recess" if worst[k] else "outer" for k in names], dtype=object))
    grid = np.array([[names.index(r["facade"]), float(r["dist_left_end_m"]), float(r["width_mm"]) / 1e3,
                      float(r["z_centre_m"]) - float(r["height_mm"]) / 2e3, float(r["height_mm"]) / 1e3] for r in rows])
    panels = panel_table(grid, length, stated["h_m"], net_area=np.array([float(r["net_area_m2"]) * 1e6 for r in rows]),
                         s_right=np.array([float(r["dist_right_end_m"]) * 1e3 for r in rows]))
    least = min(min(f["b_m"], f["d_m"]) for f in sides.values())
    return Case({"facades": facades, "panels": panels}, stated["h_m"], rows, sides, worst, least)


def _z_top(r: dict[str, str]) -> float:
    return float(r["z_centre_m"]) + float(r["height_mm"]) / 2e3


@pytest.mark.parametrize("name", CASES)
def test_en_panels_and_anchors(name: str) -> None:
    case = _case(shared_models("truth"), name)
    plan = plan_of("en1991-1-4:2005", v_b0_m_s=26.0, terrain="III")
    done = plan.run("wave", anchors_of(plan.run("panels", case.tables)))
    panels, anchors = done["panels"], done["anchors"]
    assert panels.n == len(case.rows) > 20
    for i, r in enumerate(case.rows):
        f, area = case.sides[r["facade"]], float(r["net_area_m2"])
        place = dict(b=f["b_m"], d=f["d_m"], h=case.h, v_b=26.0, terrain="III", worst=case.worst[r["facade"]])
        left, right, w = float(r["dist_left_end_m"]), float(r["dist_right_end_m"]), float(r["width_mm"]) / 1e3
        zone, suction, pressure = by_hand.en_wall(left, right, _z_top(r), area, **place)
        assert panels["zone"][i] == zone
        assert panels["w_suction"][i] * 1e6 == pytest.approx(suction, rel=1e-6)
        assert panels["w_pressure"][i] * 1e6 == pytest.approx(pressure, rel=1e-6)
        for k in range(4):  # right, left below; right, left above, each with half the width
            on_right = k % 2 == 0
            own = by_hand.en_wall(left + w / 2 * on_right, right + w / 2 * (not on_right), _z_top(r), area / 4, **place)
            assert anchors["w_anchor_suction"][4 * i + k] * 1e6 == pytest.approx(min(own[1], suction), rel=1e-6)
            assert anchors["w_anchor_pressure"][4 * i + k] * 1e6 == pytest.approx(max(own[2], pressure), rel=1e-6)
    assert set(panels["w_basis"]) == {"characteristic"}


@pytest.mark.parametrize("name", CASES)
def test_asce_panels_and_anchors(name: str) -> None:
    case = _case(shared_models("truth"), name)
    plan = plan_of("asce7-16", v_mph=120.0, exposure="B")
    done = plan.run("wave", anchors_of(plan.run("panels", case.tables)))
    panels, anchors = done["panels"], done["anchors"]
    for i, r in enumerate(case.rows):
        left, right, w = float(r["dist_left_end_m"]), float(r["dist_right_end_m"]), float(r["width_mm"]) / 1e3
        span, across = max(w, float(r["height_mm"]) / 1e3) / FT, min(w, float(r["height_mm"]) / 1e3) / FT
        place = dict(least=case.least / FT, h=case.h / FT, V=120.0, exposure="B", worst=case.worst[r["facade"]])
        zone, suction, pressure = by_hand.asce_wall(min(left, right) / FT, _z_top(r) / FT, span * max(across, span / 3), **place)
        assert panels["zone"][i] == zone
        # The figures' formulas are given with four digits.
        assert panels["w_suction"][i] * 1e6 / PSF == pytest.approx(suction, rel=5e-4)
        assert panels["w_pressure"][i] * 1e6 / PSF == pytest.approx(pressure, rel=5e-4)
        for k in range(4):
            on_right = k % 2 == 0
            near = min(left + w / 2 * on_right, right + w / 2 * (not on_right)) / FT
            own = by_hand.asce_wall(near, _z_top(r) / FT, float(r["net_area_m2"]) / 4 / FT**2, **place)
            assert anchors["w_anchor_suction"][4 * i + k] * 1e6 / PSF == pytest.approx(min(own[1], suction), rel=5e-4)
            assert anchors["w_anchor_pressure"][4 * i + k] * 1e6 / PSF == pytest.approx(max(own[2], pressure), rel=5e-4)
