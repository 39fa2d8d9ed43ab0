"""The check values of wind and combinations (tests/verification/data, each row with its source) through the run's functions."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.verification.evaluate import evaluate

DATA = Path(__file__).parents[1] / "verification" / "data"
ROWS = [(topic, row) for topic in ("ec1", "asce7", "combos") for row in csv.DictReader((DATA / f"{topic}.csv").open(newline=""))]


def _within(tolerance: str, expected: Any) -> dict[str, float]:
    kind, _, size = tolerance.partition(" ")
    return {"rel": 0.0, "abs": 1e-12, kind: float(size) + (1e-12 if kind == "abs" else 0.0)}


@pytest.mark.parametrize(("topic", "row"), ROWS, ids=[f"{t}-{r['quantity']}-{i}" for i, (t, r) in enumerate(ROWS)])
def test_value(topic: str, row: dict[str, str]) -> None:
    expected = json.loads(row["expected"])
    value = evaluate(topic, row["quantity"], json.loads(row["inputs_json"]))
    assert np.asarray(value, dtype=float) == pytest.approx(np.asarray(expected, dtype=float), **_within(row["tolerance"], expected)), row["source"]


def test_every_row_has_a_source() -> None:
    assert len(ROWS) > 300
    assert all(row["source"] for _, row in ROWS)


@pytest.mark.parametrize("topic", ["ec1", "asce7"])
def test_check_values_go_through_what_a_run_calls(topic: str) -> None:
    """Every function of the wind room named by the topic is called elsewhere in that room, by a rule or what it calls."""
    here = Path(__file__).parents[1]
    named = set(re.findall(r"\b(?:velocity|walls|skins|asce7)\.([a-z_]\w+)\(", (here / "verification" / "topics" / f"{topic}.py").read_text(encoding="utf-8")))
    source = "\n".join(p.read_text(encoding="utf-8") for p in sorted((here.parent / "bimcheck" / "wind").glob("*.py")))
    assert len(named) > 5
    # The list of strips only asks reference_height, which the rule calls, part by part.
    unused = {n for n in named - {"windward_strips"} if not re.search(rf"(?<!def )\b{n}\(", source)}
    assert not unused
