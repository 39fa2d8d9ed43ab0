"""CSV files say what the tables hold; Python's csv module reads them back."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bimcheck.core.tables import Table
from bimcheck.write.tables import panel_rows, texts, write_csv


def _read(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")), st.text(alphabet=',"\n\r a=1')), min_size=1))
def test_any_text_comes_back(tmp_path: Path, rows: list[tuple[str, str]]) -> None:
    write_csv(tmp_path / "t.csv", ["a,b", 'c"'], [np.array(c, dtype=object) for c in zip(*rows, strict=True)])
    assert _read(tmp_path / "t.csv") == [["a,b", 'c"'], *[list(r) for r in rows]]


def test_values_that_are_equal_but_not_the_same_keep_their_text(tmp_path: Path) -> None:
    write_csv(tmp_path / "t.csv", ["v"], [[1, True, 1.0, None, "x", 0.1 + 0.2]])
    assert [r[0] if r else "" for r in _read(tmp_path / "t.csv")[1:]] == ["1", "True", "1.0", "", "x", "0.30000000000000004"]


def test_numbers_are_rounded_to_seven_decimals_and_nan_is_blank() -> None:
    column = np.array([1 / 3, np.nan, 2.0, -1e-9, 1 / 3])
    assert texts(column).tolist() == ["0.3333333", "", "2.0", "0.0", "0.3333333"]
    assert texts(np.array([250.0]), 1e-3).tolist() == ["0.25"]
    assert texts(np.array([3, 1])).tolist() == ["3", "1"] and texts(np.array([True])).tolist() == ["True"]


def test_every_element_has_a_row_and_panels_speak_for_themselves() -> None:
    names = {k: np.array(["e"] * 3, dtype=object) for k in ("guid", "name", "mark", "model", "ifc_class", "status", "reason")}
    elements = Table("elements", 3, {**names, "step_id": np.array([5, 6, 7])})
    panels = Table("panels", 1, {"element": np.array([1]), "reason": np.array(["small-piece"], dtype=object), "width": np.array([1200.0]),
                                 "u_bending": np.array([0.5])})
    header, columns = panel_rows(elements, panels, ["u_bending"])
    rows = [dict(zip(header, r, strict=True)) for r in zip(*columns, strict=True)]
    assert [r["reason"] for r in rows] == ["e", "small-piece", "e"]
    assert [r["width_mm"] for r in rows] == ["", "1200.0", ""] and [r["u_bending"] for r in rows] == ["", "0.5", ""]
    assert [r["step_id"] for r in rows] == ["5", "6", "7"]
