"""What lies in sample_models is what the package writes, and the small command says what it wrote."""

from __future__ import annotations

import json
from pathlib import Path

import ifcopenshell
import pytest

from bimcheck.samples import midrise, podium
from bimcheck.samples.__main__ import main
from tests.samples.measure import boxes, messages

BUNDLED = Path(__file__).resolve().parents[2] / "sample_models"
FILES = (midrise.FILE, midrise.TRUTH, podium.FILE, podium.TRUTH)


def test_regenerated_byte_for_byte(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--out", str(tmp_path)]) == 0
    assert capsys.readouterr().out.split() == [str(tmp_path / f) for f in FILES]
    for name in FILES:
        assert (tmp_path / name).read_bytes() == (BUNDLED / name).read_bytes(), name


def test_the_readme_names_every_planted_panel() -> None:
    text = (BUNDLED / "README.md").read_text()
    for name in (midrise.TRUTH, podium.TRUTH):
        for fault in json.loads((BUNDLED / name).read_text())["planted"]:
            assert all(mark in text for mark in fault["marks"])


def test_the_readme_s_counts_and_single_panels_are_those_of_the_truth() -> None:
    text, truth = (BUNDLED / "README.md").read_text(), json.loads((BUNDLED / midrise.TRUTH).read_text())
    marks = {row[0]: row[1] for row in truth["panels"]}
    unreadable = [g for g, reason in truth["not_panels"].items() if reason == "no-geometry"]
    assert all(marks[g] in text for g in [*truth["curved"], *unreadable])
    assert f"{truth['counts']['panel']} panels, {truth['counts']['out_of_scope']} elements" in text


def test_podium_is_valid_and_of_the_planned_sizes() -> None:
    path, truth = BUNDLED / podium.FILE, json.loads((BUNDLED / podium.TRUTH).read_text())
    assert messages(path, rules=True) == []
    model, own = ifcopenshell.open(str(path)), boxes(path, world=False)
    assert model.schema == "IFC2X3" and len(model.by_type("IfcPlate")) == len(truth["panels"]) == 40
    for guid, mark, _, thickness, _, width, height in truth["panels"]:
        assert model.by_guid(guid).Tag == mark
        low, high = own[mark]
        assert high - low == pytest.approx([width, height, thickness], abs=0.01)  # expected: the plan


def test_podium_s_planted_joint() -> None:
    truth = json.loads((BUNDLED / podium.TRUTH).read_text())
    world, (fault,) = boxes(BUNDLED / podium.FILE, world=True), truth["planted"]
    left, right = (world[m] for m in fault["marks"])  # F3 runs along -x
    assert left[0, 0] - right[1, 0] == pytest.approx(fault["joint_mm"], abs=0.01)


def test_tower_by_the_command(tmp_path: Path) -> None:
    assert main(["--out", str(tmp_path), "--tower", "40", "--body", "mapped", "--schema", "IFC4X3"]) == 0
    assert (tmp_path / "tower_40_mapped_IFC4X3.ifc").exists()


def test_a_wrong_request_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--out", str(tmp_path), "--tower", "3"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
