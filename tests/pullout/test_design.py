"""Design values, the workbook's formulas, and what pairs of means leave open."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from scipy import stats

from bimcheck.pullout.compare import difference_not_excluded
from bimcheck.pullout.design import design, factors
from bimcheck.pullout.evaluation import Evaluation, evaluate_series
from bimcheck.pullout.present import both, file_stem, unit_of
from bimcheck.pullout.read import Series
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.workbook import write_workbook
from tests.pullout.series import LOADS, TODAY, row, table


def _evaluated(rows: list[str], **settings: float) -> Evaluation:
    return evaluate_series(Series("s.csv", "0" * 64, table(rows)), Qualification.model_validate(settings), TODAY)


def test_design_values_by_hand() -> None:
    """mean 3.761 kN, s 0.20872, k 2.104 (ISO 16269-6 printed): R_k = 3.322; by 1.8 and 0.9: 1.661; mean by 3 and 0.9: 1.128."""
    e = _evaluated([row(x) for x in LOADS], gamma_M=1.8, global_factor=3.0, eta=0.9)
    found = design(e.groups[0], e.factors)
    assert (found.by_characteristic, found.by_mean) == pytest.approx((1661.0, 1128.3), abs=0.5)
    assert e.factors.assumed == ()


def test_factors_that_nobody_stated_are_said_to_be_assumed() -> None:
    assert factors(Qualification()).assumed == ("gamma_M", "global_factor")
    assert factors(Qualification(gamma_M=1.8)).assumed == ("global_factor",)


def test_no_design_value_from_a_characteristic_value_below_zero() -> None:
    e = _evaluated([row(x) for x in (0.5, 4.0, 0.4, 5.0)])
    assert e.groups[0].characteristic.governing < 0
    assert np.isnan(design(e.groups[0], e.factors).by_characteristic)
    assert "no-resistance" in {c.rule for c in e.cautions}


def test_formulas_of_the_workbook_give_what_is_shown(tmp_path: Path) -> None:
    """The cached value of each formula against its own cells: R_k eta / gamma_M and R_mean eta / F."""
    e = _evaluated([row(x) for x in LOADS] + [row(1.2 * x, colour="red") for x in LOADS], gamma_M=1.8, global_factor=3.0, eta=0.9)
    path = write_workbook(e, tmp_path / "w.xlsx")
    formulas, shown = (openpyxl.load_workbook(path, data_only=only)["Design values"] for only in (False, True))
    gamma, F, eta = (shown[f"C{i}"].value for i in (4, 5, 6))
    assert (gamma, F, eta) == (1.8, 3.0, 0.9)
    rows = [r for r in range(1, shown.max_row + 1) if str(shown[f"A{r}"].value).startswith("G") and shown[f"E{r}"].data_type == "n"]
    assert len(rows) == 2
    for r in rows:
        assert formulas[f"G{r}"].value == f"=F{r}*$C$6/$C$4"
        assert shown[f"G{r}"].value == pytest.approx(shown[f"F{r}"].value * eta / gamma)
        assert shown[f"I{r}"].value == pytest.approx(shown[f"E{r}"].value * eta / F)
        assert shown[f"H{r}"].value == pytest.approx(shown[f"G{r}"].value * 224.808943)  # 1 kN = 224.808943 lbf, by definition


def test_kilonewtons_and_pounds() -> None:
    """1 kN = 224.81 lbf and 1 MPa = 145.04 psi, conversion tables."""
    pull = _evaluated([row(3.3)]).groups[0]
    assert both(3300.0, unit_of(pull)) == "3.30 kN (742 lbf)"
    assert both(float("nan"), unit_of(pull)) == "no value"


def test_what_two_means_leave_open_is_the_unequal_variance_interval() -> None:
    """Peer: scipy.stats.ttest_ind(equal_var=False), 95 % interval; its farther end."""
    rng = np.random.default_rng(9)
    a, b = rng.normal(3.5, 0.2, 10), rng.normal(3.6, 0.5, 14)
    interval = stats.ttest_ind(a, b, equal_var=False).confidence_interval(0.95)
    assert difference_not_excluded([a, b]) == pytest.approx(max(abs(interval.low), abs(interval.high)))


def test_what_many_means_leave_open_shares_the_confidence() -> None:
    """Bonferroni: three pairs at 1 - 0.05/3 each; peer as above."""
    rng = np.random.default_rng(10)
    samples = [rng.normal(m, 0.3, 8) for m in (3.0, 3.4, 3.6)]
    ends = [stats.ttest_ind(samples[i], samples[j], equal_var=False).confidence_interval(1 - 0.05 / 3) for i, j in ((0, 1), (0, 2), (1, 2))]
    assert difference_not_excluded(samples) == pytest.approx(max(max(abs(x.low), abs(x.high)) for x in ends))


def test_samples_without_scatter_leave_their_own_difference_open() -> None:
    assert difference_not_excluded([np.array([3.0] * 4), np.array([3.2] * 4)]) == pytest.approx(0.2)


@pytest.mark.parametrize("material", ["../../etc", "a" * 300, "=1+1", "granit & gr\u00fcn"])
def test_names_of_pictures_are_plain(material: str) -> None:
    stem = file_stem(_evaluated([row(3.4, material=material)]).groups[0])
    assert len(stem) <= 80
    assert set(stem) <= set("abcdefghijklmnopqrstuvwxyz0123456789-G")


def test_age_is_judged_at_the_runs_date_only() -> None:
    rows = [row(x, day="2020-01-01") for x in LOADS]
    found = [evaluate_series(Series("s.csv", "", table(rows, day)), Qualification(), day) for day in (date(2024, 1, 1), date(2026, 1, 1))]
    assert [{c.rule for c in e.cautions} for e in found] == [set(), {"old"}]
