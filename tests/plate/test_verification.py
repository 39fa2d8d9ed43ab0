"""The check values of plates on points (tests/verification/data, each row with its source) through the run's functions."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from tests.verification.evaluate import evaluate

DATA = Path(__file__).resolve().parents[1] / "verification" / "data"
FEWEST = {"plates": 100, "plate_points": 130}


def _rows(topic: str) -> list[dict[str, str]]:
    with (DATA / f"{topic}.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("topic", FEWEST)
def test_check_values(topic: str) -> None:
    rows = _rows(topic)
    assert len(rows) >= FEWEST[topic] and all(row["source"] for row in rows)
    wrong = []
    for row in rows:
        kind, size = row["tolerance"].split()
        expected = float(row["expected"])
        value = evaluate(topic, row["quantity"], json.loads(row["inputs_json"]))
        allowed = float(size) * (abs(expected) if kind == "rel" else 1.0)
        if not abs(value - expected) <= allowed + 1e-12:
            wrong.append(f"{row['quantity']} {row['inputs_json'][:80]}: {value} for {expected}")
    assert not wrong, "\n".join(wrong)
