"""The check values of statistics and test formulas (tests/verification/data, each row with its source)."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from tests.verification.evaluate import evaluate

HERE = Path(__file__).parents[1]
DATA = HERE / "verification" / "data"
ROWS = [(topic, row) for topic in ("stats", "tests") for row in csv.DictReader((DATA / f"{topic}.csv").open(newline=""))]


@pytest.mark.parametrize(("topic", "row"), ROWS, ids=[f"{t}-{r['quantity']}-{i}" for i, (t, r) in enumerate(ROWS)])
def test_value(topic: str, row: dict[str, str]) -> None:
    value = evaluate(topic, row["quantity"], json.loads(row["inputs_json"]))
    kind, _, size = row["tolerance"].partition(" ")
    if kind == "exact":
        assert str(value) == row["expected"], row["source"]
    else:
        within = {"rel": 0.0, "abs": 1e-12, kind: float(size) + (1e-12 if kind == "abs" else 0.0)}
        assert value == pytest.approx(float(row["expected"]), **within), row["source"]


def test_every_row_has_a_source() -> None:
    assert len(ROWS) > 200
    assert all(row["source"] for _, row in ROWS)


@pytest.mark.parametrize("topic", ["stats", "tests"])
def test_check_values_go_through_what_a_run_calls(topic: str) -> None:
    """Every function that the topic imports is used in the room beside its definition."""
    named = re.findall(r"from bimcheck\.pullout\.(?:\w+) import ([^\n]+)", (HERE / "verification" / "topics" / f"{topic}.py").read_text(encoding="utf-8"))
    functions = {n.strip() for line in named for n in line.split(",")}
    source = "\n".join(re.sub(r"from [^\n]+", "", p.read_text(encoding="utf-8")) for p in sorted((HERE.parent / "bimcheck" / "pullout").glob("*.py")))
    assert len(functions) > 3
    assert not {n for n in functions if not re.search(rf"(?<!def )(?<!class )\b{n}\b", source)}
