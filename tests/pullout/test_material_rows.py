"""Material rows: what the project file accepts, the lowest of what shares a row, and the hash of the series."""

from __future__ import annotations

import tomllib
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from bimcheck.materials.settings import Material
from bimcheck.pullout.evaluation import Evaluation, evaluate_series
from bimcheck.pullout.material_rows import material_rows
from bimcheck.pullout.read import read
from bimcheck.pullout.settings import Qualification
from tests.pullout.series import HEAD, LOADS, TODAY, file, row


def _evaluated(folder: Path, specimens: list[str], head: str = HEAD, **settings: Any) -> Evaluation:
    return evaluate_series(read(file(folder, specimens, head), TODAY), Qualification(**settings), TODAY)


def _material(e: Evaluation, name: str = "granite") -> Material:
    """Through the project file's own model: unknown keys and wrong values are errors there."""
    return Material(**tomllib.loads(material_rows(e))["materials"][name])


def test_a_row_the_project_file_accepts(tmp_path: Path) -> None:
    e = _evaluated(tmp_path, [row(x) for x in LOADS])
    (anchor,) = _material(e).anchors
    assert anchor.tension_kN * 1000 == pytest.approx(e.groups[0].characteristic.governing, abs=1.0)
    assert anchor.tension_kN * 1000 <= e.groups[0].characteristic.governing
    assert (anchor.thickness_mm, anchor.embedment_mm, anchor.edge_mm, anchor.n, anchor.kind) == (30, 15, 100, 10, "characteristic")
    assert (anchor.series, anchor.date, anchor.conditioned) == ("s.csv", "2026-03-02", False)
    assert anchor.series_sha256 == sha256((tmp_path / "s.csv").read_bytes()).hexdigest()


def test_the_lowest_colour_stands_for_all(tmp_path: Path) -> None:
    e = _evaluated(tmp_path, [row(x) for x in LOADS] + [row(0.8 * x, colour="red") for x in LOADS])
    (anchor,) = _material(e).anchors
    assert anchor.tension_kN * 1000 == pytest.approx(min(g.characteristic.governing for g in e.groups), abs=1.0)


def test_the_lowest_mean_stands_for_all_though_another_group_scatters_more(tmp_path: Path) -> None:
    """With a global factor on the mean the mean must not come from the group that is stronger on average."""
    steady, wild = [3.40 + 0.01 * i for i in range(10)], [2.5 + 0.35 * i for i in range(10)]
    e = _evaluated(tmp_path, [row(x) for x in steady] + [row(x, colour="red") for x in wild])
    (anchor,) = _material(e).anchors
    assert anchor.mean_kN == pytest.approx(3.445)
    assert anchor.tension_kN * 1000 == pytest.approx(e.groups[1].characteristic.governing, abs=1.0)


def test_thicknesses_stand_apart(tmp_path: Path) -> None:
    e = _evaluated(tmp_path, [row(x) for x in LOADS] + [row(1.4 * x, thickness=40) for x in LOADS])
    assert [a.thickness_mm for a in _material(e).anchors] == [30, 40]


def test_mean_rows_for_the_global_factor_format(tmp_path: Path) -> None:
    (anchor,) = _material(_evaluated(tmp_path, [row(x) for x in LOADS], rows="mean")).anchors
    assert anchor.kind == "mean"
    assert anchor.tension_kN == pytest.approx(sum(LOADS) / 10, abs=0.001)


def test_a_group_without_value_makes_no_row(tmp_path: Path) -> None:
    e = _evaluated(tmp_path, [row(3.3)])
    assert _material(e).anchors == []
    assert "no row for" in material_rows(e)


def test_wet_series_lowers_a_dry_one_only_by_its_own_row_or_is_conditioned(tmp_path: Path) -> None:
    """A wet group that is weaker must not be hidden behind the dry one."""
    e = _evaluated(tmp_path, [row(x) for x in LOADS] + [row(0.7 * x, condition="wet") for x in LOADS])
    lowest = min(a.tension_kN for a in _material(e).anchors)
    assert lowest * 1000 == pytest.approx(min(g.characteristic.governing for g in e.groups), abs=1.0)


@pytest.mark.parametrize(("conditions", "conditioned"), [
    (("dry",), False), (("dry", "wet"), False), (("frost",), True), (("dry", "frost"), True), (("salt spray",), False)])
def test_only_frost_or_age_make_a_row_conditioned(tmp_path: Path, conditions: tuple[str, ...], conditioned: bool) -> None:
    """A wet series alone says nothing of frost: the project's factors must stay."""
    e = _evaluated(tmp_path, [row(x, condition=c) for c in conditions for x in LOADS])
    assert [a.conditioned for a in _material(e).anchors] == [conditioned]


def test_flexural_strength_and_eta(tmp_path: Path) -> None:
    head = "test,material,thickness_mm,standard,condition,strength_MPa"
    rows = [f"flexural,granite,30,EN 12372,{c},{f * x}" for c, f in (("dry", 4), ("frost", 3)) for x in LOADS]
    material = _material(_evaluated(tmp_path, rows, head))
    assert material.eta_frost == pytest.approx(0.75, abs=0.001)
    assert material.flexural_MPa is not None and 10 < material.flexural_MPa < 14.4
    assert "EN 12372" in material.flexural_test


def test_names_that_would_break_the_file(tmp_path: Path) -> None:
    e = _evaluated(tmp_path, [row(x, material='"=HYPER" [a]# \'q\'') for x in LOADS])
    (name,) = tomllib.loads(material_rows(e))["materials"]
    assert name.replace("_", "").isalnum()


def test_the_same_series_the_same_text(tmp_path: Path) -> None:
    rows = [row(x) for x in LOADS]
    assert material_rows(_evaluated(tmp_path, rows)) == material_rows(_evaluated(tmp_path, rows))
