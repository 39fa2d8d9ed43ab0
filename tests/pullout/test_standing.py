"""A run states its tests, and warns when a series has changed since the row was made."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table
from bimcheck.materials.catalogue import rows
from bimcheck.materials.settings import Material
from bimcheck.pullout.evaluation import evaluate_series
from bimcheck.pullout.material_rows import material_rows
from bimcheck.pullout.read import read
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.standing import find, standings
from tests.pullout.series import LOADS, TODAY, file, row


def _issues(folder: Path, text: str, used: str = "granite") -> list[Issue]:
    stated = {name: Material(**data) for name, data in tomllib.loads(text)["materials"].items()}
    panels = Table("panels", 1, {"material": np.array([used], dtype=object)})
    return find({"panels": panels}, {"materials.series": standings(rows(stated), folder)})


def _rows(folder: Path) -> str:
    return material_rows(evaluate_series(read(file(folder, [row(x) for x in LOADS]), TODAY), Qualification(), TODAY))


def test_the_tests_behind_a_resistance_are_stated(tmp_path: Path) -> None:
    (issue,) = _issues(tmp_path, _rows(tmp_path))
    assert (issue.rule, issue.severity) == ("series", "info")
    assert "s.csv" in issue.text and "2026-03-02" in issue.text


def test_a_changed_series_is_a_warning(tmp_path: Path) -> None:
    text = _rows(tmp_path)
    file(tmp_path, [row(x) for x in LOADS[:-1]])
    (issue,) = _issues(tmp_path, text)
    assert (issue.rule, issue.severity) == ("series-changed", "warning")


def test_a_series_that_is_elsewhere_is_said(tmp_path: Path) -> None:
    text = _rows(tmp_path)
    (tmp_path / "s.csv").unlink()
    (issue,) = _issues(tmp_path, text)
    assert (issue.rule, issue.severity) == ("series-unproved", "info")


def test_materials_that_no_panel_uses_are_left_out(tmp_path: Path) -> None:
    assert _issues(tmp_path, _rows(tmp_path), used="porcelain") == []
