"""Check values of anchors and seismic, with their sources beside them in data/."""

from __future__ import annotations

import csv
import json

import pytest

from tests.shared import ROOT
from tests.verification.evaluate import evaluate

DATA = ROOT / "tests" / "verification" / "data"
TOPICS = ("anchors", "seismic")
ROWS = [(t, r) for t in TOPICS for r in csv.DictReader((DATA / f"{t}.csv").open(encoding="utf-8", newline=""))]


@pytest.mark.parametrize(("topic", "row"), ROWS, ids=[f"{t}-{r['quantity']}-{i}" for i, (t, r) in enumerate(ROWS)])
def test_value(topic: str, row: dict[str, str]) -> None:
    kind, _, size = row["tolerance"].partition(" ")
    expected = json.loads(row["expected"])
    tolerance = {"abs": {"abs": float(size or 0) + 1e-12, "rel": 0}, "rel": {"rel": float(size or 0), "abs": 0}}[kind]
    assert evaluate(topic, row["quantity"], json.loads(row["inputs_json"])) == pytest.approx(expected, **tolerance), row["source"]
