"""Old and scattered series become warnings (common practice, no source: 5 years, 20 %)."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from bimcheck.core.tables import Table
from bimcheck.pullout.series_limits import find

PANELS = Table("panels", 1, {"material_index": np.array([1]), "material": np.array(["granite"], dtype=object)})


def _rules(date: str, cov: float | None, material: int = 1) -> list[str]:
    test = SimpleNamespace(thickness_mm=27.0, embedment_mm=15.0, edge_mm=50.0, series="a.csv", date=date, cov=cov)
    group = SimpleNamespace(material=material, tests=(test,))
    return [i.rule for i in find({"panels": PANELS}, {"materials.tests": [group, group], "checks.series_age_years": 5.0, "checks.cov_max": 0.2})]


@pytest.mark.parametrize(("date", "cov", "rules"), [
    ("2019-01-02", 0.2, []), ("2018-12-30", 0.2, ["series-old"]), ("", 0.21, ["series-scatter"]), ("not a date", None, []),
    ("2010-01-01", 0.5, ["series-old", "series-scatter"]),
])
def test_both_sides_of_each_limit(date: str, cov: float | None, rules: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1704067200")  # 2024-01-01
    assert _rules(date, cov) == rules


def test_materials_without_panels_are_silent() -> None:
    assert _rules("2001-01-01", 0.9, material=2) == []
