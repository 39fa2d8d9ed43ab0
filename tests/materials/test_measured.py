"""Measured thicknesses and what they replace.  By hand; common practice, no source."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table
from bimcheck.materials.assign import assign
from bimcheck.materials.catalogue import rows
from bimcheck.materials.measured import find, read_measured
from bimcheck.materials.settings import Material
from tests.shared import ROOT

TABLE = rows({"granite": Material(match=["*granit*"], thickness_tolerance=0.1)})


def panels(marks: list[str]) -> Table:
    n = len(marks)
    t = np.full(n, 30.0)
    return Table("panels", n, {
        "guid": np.array([f"g{i}" for i in range(n)], dtype=object), "step_id": np.arange(n) + 100, "mark": np.array(marks, dtype=object),
        "material_name": np.full(n, "Granite", dtype=object), "thickness": t, "thickness_max": t, "lot": np.full(n, "Granite 30.0 mm", dtype=object),
        "element": np.arange(n)})


def read(tmp_path: Path, text: str, table: Table, partial: bool = False):
    file = tmp_path / "t.csv"
    file.write_text(text)
    return read_measured(file, table, partial)


def test_readings_replace_nominal_and_tolerance(tmp_path: Path) -> None:
    """P1 28.1 and 28.6 in lot A, P2 31.0 in none, P3 unmeasured: 30 +-10 %."""
    table = panels(["P1", "P2", "P3"])
    done = assign(table, TABLE, read(tmp_path, "mark,lot,t_mm\nP1,A,28.6\nP1,,28.1\nP2,,31.0\n", table))
    np.testing.assert_allclose(done["t_min"], [28.1, 31.0, 27.0])
    np.testing.assert_allclose(done["t_max"], [28.6, 31.0, 33.0])
    assert done["measured"].tolist() == [True, True, False]
    assert done["lot"].tolist() == ["A", "Granite 30.0 mm measured", "Granite 30.0 mm"]  # measured and unmeasured never share a lot


def test_without_a_list_nothing_changes() -> None:
    done = assign(panels(["P1"]), TABLE)
    assert done["t_min"][0] == pytest.approx(27.0) and not done["measured"][0] and np.isnan(done["t_off"][0])


def test_readings_outside_the_tolerance_are_findings(tmp_path: Path) -> None:
    table = panels(["P1", "P2", "P3"])
    done = assign(table, TABLE, read(tmp_path, "guid,t_mm\ng0,26.4\ng1,33.5\ng2,27.0\n", table))
    np.testing.assert_allclose(done["t_off"], [-0.6, 0.5, 0.0], atol=1e-9)
    issues = find({"panels": done}, {})
    assert [(i.panel, i.measured, i.required) for i in issues] == [(0, pytest.approx(26.4), pytest.approx(27.0)), (1, pytest.approx(33.5), pytest.approx(33.0))]


@pytest.mark.parametrize(("text", "said"), [
    ("mark,t_mm\nP9,28\n", "P9: not among the panels"), ("mark,t_mm\nP1,0\n", "a thickness of 0 mm"), ("mark,t_mm\nP1,thick\n", "no number"),
    ("mark\nP1\n", "no column t_mm"), ("mark,lot,t_mm\nP1,A,28\nP1,B,29\n", "a panel in lot A and in lot B"), ("mark,t_mm\nP2,28\n", "P2: the name of several"),
    ("mark,t_mm\n", "no row"), ("guid,t_mm\n,28\n", "(blank): not among")])
def test_lists_that_do_not_do_are_refused(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read(tmp_path, text, panels(["P1", "P2", "P2"]))
    assert said in str(caught.value) and "\n" not in str(caught.value)


def test_a_run_of_some_elements_may_have_the_list_of_all(tmp_path: Path) -> None:
    found = read(tmp_path, "mark,t_mm\nP9,28\nP1,28.4\n", panels(["P1", "P2"]), partial=True)
    np.testing.assert_array_equal(found.least, [28.4, np.nan])


def test_the_example_can_be_read() -> None:
    found = read_measured(ROOT / "docs" / "examples" / "thickness.csv", panels(["INVENTED-01", "INVENTED-02", "INVENTED-03"]))
    np.testing.assert_allclose(found.least, [28.4, 30.1, 31.6])
    assert found.lot.tolist() == ["A", "A", "B"]
