"""Cautions of a group, each where it must stand and nowhere else."""

from __future__ import annotations

from datetime import date

import pytest

from bimcheck.pullout.evaluation import Evaluation, evaluate_series
from bimcheck.pullout.read import Series
from bimcheck.pullout.settings import Qualification
from tests.pullout.series import LOADS, TODAY, row, table


def _evaluated(rows: list[str], today: date = TODAY, **settings: object) -> Evaluation:
    return evaluate_series(Series("s.csv", "0" * 64, table(rows, today)), Qualification(**settings), today)  # type: ignore[arg-type]


def _rules(rows: list[str], today: date = TODAY, **settings: object) -> set[str]:
    return {c.rule for c in _evaluated(rows, today, **settings).cautions}


GOOD = [row(x) for x in LOADS]


def test_a_sound_series_has_none() -> None:
    assert _rules(GOOD) == set()


def test_few_specimens_by_practice_and_by_astm() -> None:
    assert "few-specimens" in _rules(GOOD[:9])
    assert "few-specimens" not in _rules(GOOD[:5], specimens="astm-c1354")
    assert "few-specimens" in _rules(GOOD[:4], specimens="astm-c1354")


@pytest.mark.parametrize(("rows", "rule"), [
    ([*GOOD[:9], row(3.9, failure="splitting")], "failure-modes"),
    ([row(x) for x in (1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0)], "scatter"),
    ([row(3.3)] * 10, "no-scatter"),
    ([row(3.3)], "no-characteristic"),
    ([*GOOD, row(1.5)], "outlier"),
    ([row(x, ring=40) for x in LOADS], "ring"),   # cone 3 embedments = 45 mm wide
    ([row(x, ring="") for x in LOADS], "ring"),
    ([row(x, day="2021-11-20") for x in LOADS], "old"),
    ([row(x, day="") for x in LOADS], "undated"),
    ([row(x, condition="") for x in LOADS], "condition"),
])
def test_each_has_its_caution(rows: list[str], rule: str) -> None:
    assert rule in _rules(rows)


@pytest.mark.parametrize(("ring", "rules"), [(45, set()), (44.9, {"ring"})])
def test_ring_at_the_limit(ring: float, rules: set[str]) -> None:
    assert _rules([row(x, ring=ring) for x in LOADS]) == rules


@pytest.mark.parametrize(("today", "old"), [(date(2031, 3, 1), False), (date(2031, 3, 4), True)])
def test_age_counts_from_the_test_to_the_run(today: date, old: bool) -> None:
    assert ("old" in _rules(GOOD, today)) is old


def test_geometry_other_than_the_projects() -> None:
    assert _rules(GOOD, edge_mm=100, embedment_mm=15) == set()
    assert _rules(GOOD, edge_mm=60) == {"edge"}
    assert _rules(GOOD, embedment_mm=12) == {"embedment"}


def test_an_outlier_is_named_and_kept() -> None:
    e = _evaluated([*GOOD, row(1.5)])
    (text,) = [c.text for c in e.cautions if c.rule == "outlier"]
    assert "row 12" in text and "two-sided" in text and "kept" in text
    assert e.groups[0].described.n == 11
    assert e.groups[0].described.least == 1500.0
