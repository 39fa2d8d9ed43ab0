"""The store gives back what was put in, to the last bit, and is queried with SQL alone."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import numpy as np
import pytest

from bimcheck import store
from bimcheck.core.errors import InputError
from bimcheck.core.tables import Ragged, Table
from bimcheck.result import Result


def _result() -> Result:
    outline = Ragged.of([np.array([[0.0, 0.1], [1 / 3, 2.0]]), np.empty((0, 2)), np.array([[5.0, np.nan]])], (2,))
    elements = Table("elements", 3, {"guid": np.array(["a", "b'\"", "c\n"], dtype=object), "width": np.array([1 / 3, np.nan, 2.0]),
                                     "n": np.array([[0.0, 1.0], [0.1, 0.2], [np.pi, np.inf]]), "outline": outline, "step_id": np.array([7, 8, 9])})
    rows = np.array([2, 0])
    panels = Table("panels", 2, {**elements.take(rows).columns, "element": rows, "ok": np.array([True, False]),
                                 "step_id": np.array([9, 99])})
    return Result({"elements": elements, "panels": panels, "issues": Table("issues", 0, {"rule": np.empty(0, dtype=object)})}, {"version": "x"})


def _same(a: Table, b: Table) -> None:
    assert list(a) == list(b) and a.n == b.n
    for k, c in a.columns.items():
        other = b[k]
        if isinstance(c, Ragged):
            np.testing.assert_array_equal(c.values, other.values)
            np.testing.assert_array_equal(c.offsets, other.offsets)
        else:
            assert c.dtype == other.dtype, k
            np.testing.assert_array_equal(c, other)


def test_a_result_comes_back_as_it_was(tmp_path: Path) -> None:
    whole = _result()
    store.save(whole, tmp_path)
    back = store.load(tmp_path)
    assert back.facts == whole.facts and list(back.tables) == list(whole.tables)
    for name, table in whole.tables.items():
        _same(table, back.tables[name])


def test_what_a_panel_shares_with_its_element_is_kept_once_and_seen_in_a_view(tmp_path: Path) -> None:
    whole = _result()
    assert store.shared_columns(whole.tables) == ["guid", "width", "n", "outline"]  # step_id differs
    store.save(whole, tmp_path)
    with sqlite3.connect(tmp_path / store.FILE) as db:
        assert [r[1] for r in db.execute("PRAGMA table_info(panels)")] == ["step_id", "element", "ok"]
        assert db.execute("SELECT guid, n_0, ok FROM panels_whole ORDER BY step_id").fetchall() == [("c\n", np.pi, 1), ("a", 0.0, 0)]


def test_some_columns_of_some_tables(tmp_path: Path) -> None:
    store.save(_result(), tmp_path)
    back = store.load(tmp_path, {"panels": ("width", "ok"), "issues": ()})
    assert list(back.tables) == ["panels", "issues"] and list(back.tables["panels"]) == ["width", "ok"]
    assert back.tables["panels"]["width"].tolist() == [2.0, 1 / 3]


def test_a_folder_without_a_store_and_a_broken_store(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no result"):
        store.load(tmp_path)
    (tmp_path / store.FILE).write_text("not a database, only text that is long enough to be looked at")
    with pytest.raises(InputError, match="cannot be read"):
        store.load(tmp_path)


def test_more_rows_than_one_batch(tmp_path: Path) -> None:
    n = store._BATCH * 2 + 3
    table = Table("elements", n, {"v": np.arange(n) / 7, "t": np.array([str(i) for i in range(n)], dtype=object)})
    store.save(Result({"elements": table}, {}), tmp_path)
    _same(table, store.load(tmp_path).tables["elements"])


def test_a_table_without_columns_or_rows(tmp_path: Path) -> None:
    store.save(Result({"seen": Table("seen", 0, {}), "elements": Table("elements", 0, {})}, {}), tmp_path)
    assert store.load(tmp_path).tables.keys() <= {"seen", "elements"}


def test_columns_that_repeat_are_generated_and_come_back(tmp_path: Path) -> None:
    n = 4
    columns = {"a": np.arange(n) / 3, "b": np.arange(n) / 3, "zero": np.zeros(n), "nan": np.full(n, np.nan), "inf": np.full(n, -np.inf),
               "text": np.array(["it's"] * n, dtype=object), "int": np.full(n, 7), "flag": np.ones(n, dtype=bool), "half": np.array([0.0, 0, 0, 1]),
               "bits": np.arange(n), "m": np.column_stack([np.arange(n) / 3, np.full(n, 2.5)]), "mixed": np.array(["a", "", "a", "a"], dtype=object)}
    table = Table("elements", n, columns)
    store.save(Result({"elements": table}, {}), tmp_path)
    _same(table, store.load(tmp_path).tables["elements"])
    with sqlite3.connect(tmp_path / store.FILE) as db:
        assert db.execute("SELECT b, zero, nan, text, m_0, m_1 FROM elements").fetchall()[3] == (1.0, 0.0, None, "it's", 1.0, 2.5)
        stored = {r[1] for r in db.execute("PRAGMA table_info(elements)")}
    assert stored == {"a", "half", "bits", "mixed"}
