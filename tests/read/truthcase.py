"""Models with known truth: truth comes from how they were laid out, never from the written file."""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bimcheck.read.settings import Model, ReadSettings
from bimcheck.read.stage import read_models
from tests.shared import SHARED

FOLDER = SHARED / "models" / "truth"
CASES = sorted(p.stem for p in FOLDER.glob("*.json"))
# Rules of the case files that reading itself can find.
RULES = {"duplicate-guid", "material-missing", "zero-thickness", "no-geometry", "degenerate-geometry", "curved-panel", "tapered-panel"}


@dataclass(frozen=True)
class Case:
    """about: the case file; rows: its truth table."""

    about: dict[str, Any]
    rows: list[dict[str, str]]
    paths: list[Path]

    @property
    def settings(self) -> ReadSettings:
        return ReadSettings(model=Model(length_unit="mm" if self.about["length_unit"] is None else ""))

    def read(self) -> Any:
        return read_models(self.paths, self.settings)


def case(name: str) -> Case:
    about = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    with (FOLDER / f"{name}.truth.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return Case(about, rows, [FOLDER / f for f in about["files"]])


def row_of(elements: Any) -> dict[tuple[str, int], int]:
    """(file, entity number) -> row."""
    return {(m, int(i)): row for row, (m, i) in enumerate(zip(elements["model"], elements["step_id"], strict=True))}
