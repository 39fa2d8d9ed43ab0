"""The mid-rise holds what its truth says, measured by another reader."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.util.element
import numpy as np
import pytest

from bimcheck.samples import midrise
from bimcheck.samples.midrise_plan import SIDES
from tests.samples.measure import boxes, messages


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("midrise")
    midrise.write(path / midrise.FILE)
    midrise.write_truth(path / midrise.TRUTH)
    return path


@pytest.fixture(scope="module")
def model(folder: Path) -> ifcopenshell.file:
    return ifcopenshell.open(str(folder / midrise.FILE))


@pytest.fixture(scope="module")
def truth(folder: Path) -> dict[str, Any]:
    return json.loads((folder / midrise.TRUTH).read_text())


@pytest.fixture(scope="module")
def rows(truth: dict[str, Any]) -> dict[str, dict[str, Any]]:
    table = [dict(zip(truth["columns"], row, strict=True)) for row in truth["panels"]]
    return {row["mark"]: row for row in table}


@pytest.fixture(scope="module")
def world(folder: Path) -> dict[str, np.ndarray]:
    return boxes(folder / midrise.FILE, world=True)


def test_valid(folder: Path) -> None:
    assert messages(folder / midrise.FILE) == []


def test_small_and_marked_as_invented(folder: Path, model: ifcopenshell.file) -> None:
    assert (folder / midrise.FILE).stat().st_size < 2_000_000
    project = model.by_type("IfcProject")[0]
    assert "Invented" in project.Name and "no real building" in project.Description


def test_every_row_is_an_element_of_that_class_mark_and_material(model: ifcopenshell.file, rows: dict[str, dict[str, Any]],
                                                                   truth: dict[str, Any]) -> None:
    assert 600 <= len(rows) <= 1000
    assert sum(truth["counts"].values()) == len(rows)
    for row in rows.values():
        element = model.by_guid(row["guid"])
        assert (element.is_a(), element.Tag) == (row["class"], row["mark"])
        assert {m.Name for m in ifcopenshell.util.element.get_materials(element)} == {row["material"]}
    panels = [e for e in model.by_type("IfcElement") if e.ObjectType == "Facade panel"]
    assert len(panels) == len(rows)


def test_sizes_are_those_of_the_plan(folder: Path, rows: dict[str, dict[str, Any]], truth: dict[str, Any]) -> None:
    own = boxes(folder / midrise.FILE, world=False)
    for mark, row in rows.items():
        if row["guid"] in truth["curved"] or truth["not_panels"].get(row["guid"]) == "no-geometry":
            continue
        low, high = own[mark]
        assert high - low == pytest.approx([row["width_mm"], row["height_mm"], row["thickness_mm"]], abs=0.01)
        assert high[2] == pytest.approx(0.0, abs=0.01)  # front face at the placement


def test_the_curved_panel_rises_over_its_chord(folder: Path, rows: dict[str, dict[str, Any]], truth: dict[str, Any]) -> None:
    row = next(r for r in rows.values() if r["guid"] == truth["curved"][0])
    low, high = boxes(folder / midrise.FILE, world=False)[row["mark"]]
    assert high[2] == pytest.approx(60.0, abs=0.01) and high[0] - low[0] == pytest.approx(row["width_mm"], abs=0.5)


def test_every_named_guid_is_there_once(model: ifcopenshell.file, truth: dict[str, Any]) -> None:
    named = [g for fault in truth["planted"] for g in fault["guids"]]
    named += [*truth["not_panels"], *truth["curved"], *truth["not_rectangular"], *truth["cut_outs"]]
    assert all(model.by_guid(g).ObjectType == "Facade panel" for g in named)
    ids = [e.GlobalId for e in model.by_type("IfcRoot")]
    assert len(ids) == len(set(ids))


def test_only_the_planted_joint_and_overlap_differ(world: dict[str, np.ndarray], rows: dict[str, dict[str, Any]],
                                                   truth: dict[str, Any]) -> None:
    """Gaps between bounding boxes in each side's plane: everywhere 8 mm or more but at the two planted places."""
    planted = {f["rule"]: f for f in truth["planted"]}
    odd = {frozenset(planted["joint-width"]["guids"]): 2.5, frozenset(planted["panel-overlap"]["guids"]): -12.0}
    found = {}
    for side in SIDES:
        marks = [m for m, r in rows.items() if r["facade"] == side.name and m in world]
        flat = np.array([_flat(world[m], side.u) for m in marks])
        apart = np.maximum(flat[:, None, 0] - flat[None, :, 1], flat[None, :, 0] - flat[:, None, 1]).max(axis=2)
        for i, j in np.argwhere(np.triu(apart < 7.9, 1)):
            found[frozenset((rows[marks[i]]["guid"], rows[marks[j]]["guid"]))] = apart[i, j]
    assert found.keys() == odd.keys()
    assert all(found[pair] == pytest.approx(gap, abs=0.01) for pair, gap in odd.items())


def _flat(box: np.ndarray, u: tuple[float, float]) -> np.ndarray:
    """Lower and upper corner along the side and up."""
    along = np.sort(box[:, :2] @ np.array(u))
    return np.column_stack([along, box[:, 2]])


def test_one_bracket_stands_right_behind_a_panel(model: ifcopenshell.file, world: dict[str, np.ndarray], rows: dict[str, dict[str, Any]],
                                                 truth: dict[str, Any]) -> None:
    fault = next(f for f in truth["planted"] if "gap_mm" in f)
    low, high = world[fault["marks"][0]]
    panel_back = low[1] + rows[fault["marks"][0]]["thickness_mm"]  # F1 looks along -y
    brackets = [world[e.Tag] for e in model.by_type("IfcDiscreteAccessory")]
    behind = [b for b in brackets if b[0, 1] < panel_back + 50.0 and b[1, 0] > low[0] and b[0, 0] < high[0]
              and b[1, 2] > low[2] and b[0, 2] < high[2]]
    assert len(behind) == 1
    assert behind[0][0, 1] - panel_back == pytest.approx(fault["gap_mm"], abs=0.01)


def test_rails_stand_in_the_cavity_of_every_panel(model: ifcopenshell.file, world: dict[str, np.ndarray],
                                                  rows: dict[str, dict[str, Any]], truth: dict[str, Any]) -> None:
    """Behind every panel but special ones: at least two rails whose front is 40 to 60 mm behind the panel's rear face."""
    special = {*truth["not_panels"], *truth["curved"], *truth["not_rectangular"]}
    every = np.array([world[e.Tag] for e in model.by_type("IfcMember") if e.Name == "Horizontal rail"])
    for side in SIDES:
        axis, sign = (0, side.n[0]) if side.n[0] else (1, side.n[1])
        along = 1 - axis
        extent = every[:, 1] - every[:, 0]
        rails = every[extent[:, along] > extent[:, axis]]  # not those of the next side, seen end on
        for mark, row in rows.items():
            if row["facade"] != side.name or row["guid"] in special:
                continue
            low, high = world[mark]
            front = np.where(sign > 0, rails[:, 1, axis], -rails[:, 0, axis])
            gap = (low[axis] if sign > 0 else -high[axis]) - front
            over = (rails[:, 1, along] > low[along]) & (rails[:, 0, along] < high[along])
            over &= (rails[:, 0, 2] > low[2]) & (rails[:, 1, 2] < high[2]) & (gap > 0) & (gap < 150)
            assert over.sum() >= 2, mark
            assert (gap[over] > 40).all() and (gap[over] < 60).all(), mark


def test_the_opening_cuts_the_panel(model: ifcopenshell.file, truth: dict[str, Any]) -> None:
    cut = next(g for g, kind in truth["cut_outs"].items() if kind == "opening")
    voids = model.by_guid(cut).HasOpenings
    assert len(voids) == 1 and voids[0].RelatedOpeningElement.is_a("IfcOpeningElement")
