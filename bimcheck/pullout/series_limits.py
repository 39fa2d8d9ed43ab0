"""Age and scatter of the test series that a run's resistances stand on."""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Tables

_YEAR = 365.25  # days


def run_date() -> date:
    """SOURCE_DATE_EPOCH where it is set, else today; only whether an age is exceeded shows in an output, never the date."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    return datetime.fromtimestamp(int(epoch), UTC).date() if epoch.isdigit() else datetime.now(UTC).date()


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """series-old and series-scatter, a warning each series and matter, for materials of the run's panels."""
    panels = tables.get("panels")
    if panels is None or "material_index" not in panels:
        return []
    names = dict(zip(panels["material_index"].tolist(), panels["material"].tolist(), strict=True))
    tests = [(names[g.material], t) for g in settings.get("materials.tests", ()) if g.material in names for t in g.tests]
    found = {(i.rule, i.key): i for name, t in tests for i in _of(name, t, settings)}
    return list(found.values())


def _of(material: str, test: Any, settings: Mapping[str, Any]) -> list[Issue]:
    what = f"{material}, {test.thickness_mm:g} mm, embedment {test.embedment_mm:g} mm, edge {test.edge_mm:g} mm{f' ({test.series})' if test.series else ''}"
    years, cov = settings["checks.series_age_years"], settings["checks.cov_max"]
    found = []
    if test.date and _age(test.date) > years:
        found.append(Issue("series-old", "warning", f"tests of {what} date from {test.date}, more than {years:g} years ago", key=what,
                           group=material, way_out="repeat the series (common practice: every 5 years)"))
    if test.cov is not None and test.cov > cov:
        found.append(Issue("series-scatter", "warning", f"tests of {what} scatter by {test.cov:.0%}", key=what, group=material,
                           measured=test.cov, required=cov, unit="1", way_out="find out why before the value is used"))
    return found


def _age(text: str) -> float:
    """Years at the run's date; -inf for text that is no date (the row's own words are not judged)."""
    try:
        return (run_date() - date.fromisoformat(text)).days / _YEAR
    except ValueError:
        return float("-inf")
