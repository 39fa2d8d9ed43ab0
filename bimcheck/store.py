"""The store: every table at full precision in one SQLite file that anything can query.

A plain column is a column; a matrix column is one column a component (name_0, name_1 ...); a ragged column is JSON text.
What panels take unchanged from their element is stored once, in `elements`; the view `panels_whole` shows both side by side.
A column of one value, or of the same values as an earlier one, is a generated column (SQLite 3.31): read like any other.
"""

from __future__ import annotations

import itertools
import json
import os
import sqlite3
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Column, Ragged, Table, Tables
from bimcheck.result import Result

FILE = "result.sqlite"
_LEFT_OUT = {("obstacles", "triangles")}  # bodies stay in the model
_SHARED = "element"  # kind of a column of panels that is its element's, row by row
_BATCH = 10_000  # rows turned into Python values at once


def save(result: Result, folder: Path) -> Path:
    """Write the store whole or not at all."""
    target, part = folder / FILE, folder / (FILE + ".part")
    part.unlink(missing_ok=True)
    db = sqlite3.connect(part, isolation_level=None)
    try:
        for word in ("journal_mode=OFF", "synchronous=OFF", "locking_mode=EXCLUSIVE"):
            db.execute(f"PRAGMA {word}")
        db.execute("BEGIN")
        _write(db, result)
        db.execute("COMMIT")
    finally:
        db.close()
    os.replace(part, target)
    return target


def _write(db: sqlite3.Connection, result: Result) -> None:
    db.execute("CREATE TABLE bimcheck_facts (key TEXT PRIMARY KEY, value TEXT)")
    db.execute("CREATE TABLE bimcheck_columns (tbl TEXT, name TEXT, kind TEXT, width INTEGER, position INTEGER)")
    db.executemany("INSERT INTO bimcheck_facts VALUES (?, ?)",
                   [(k, json.dumps(v, sort_keys=True)) for k, v in result.facts.items() if k not in ("seconds", "peak_memory_MB")])
    shared = shared_columns(result.tables)
    for table in result.tables.values():
        _save_table(db, table, shared if table.name == "panels" else ())
    if shared:
        _view(db, shared)


def shared_columns(tables: Tables) -> list[str]:
    """Columns of `panels` that hold, row by row, what `elements` holds under the same name."""
    panels, elements = tables.get("panels"), tables.get("elements")
    if panels is None or elements is None or "element" not in panels:
        return []
    rows = panels["element"]
    return [k for k, c in panels.columns.items() if k in elements and _same(c, elements[k], rows)]


def _same(own: Column, theirs: Column, rows: NDArray[np.int64]) -> bool:
    if isinstance(own, Ragged) or isinstance(theirs, Ragged):
        if not (isinstance(own, Ragged) and isinstance(theirs, Ragged)):
            return False
        picked = theirs.take(rows)
        return np.array_equal(own.offsets, picked.offsets) and np.array_equal(own.values, picked.values, equal_nan=own.values.dtype.kind == "f")
    return own.dtype == theirs.dtype and np.array_equal(own, theirs[rows], equal_nan=own.dtype.kind == "f")


def _view(db: sqlite3.Connection, shared: Sequence[str]) -> None:
    marks = ", ".join("?" * len(shared))
    kinds = db.execute(f"SELECT name, kind, width FROM bimcheck_columns WHERE tbl = 'elements' AND name IN ({marks})", list(shared))
    names = [n for name, kind, width in kinds for n in _names(name, kind, width)]
    db.execute(f"CREATE VIEW panels_whole AS SELECT p.*, {', '.join('e.' + _quoted(n) for n in names)} "
               "FROM panels AS p JOIN elements AS e ON e.rowid = p.element + 1")


def _save_table(db: sqlite3.Connection, table: Table, shared: Collection[str]) -> None:
    columns: list[_Stored] = []
    for position, (name, column) in enumerate(table.columns.items()):
        if (table.name, name) in _LEFT_OUT:
            continue
        kind, width = (_SHARED, 0) if name in shared else _kind(column)
        db.execute("INSERT INTO bimcheck_columns VALUES (?, ?, ?, ?, ?)", (table.name, name, kind, width, position))
        columns += [] if kind == _SHARED else [_Stored(n, part, kind) for n, part in zip(_names(name, kind, width), _parts(column, kind), strict=True)]
    told = derived([c.column for c in columns], [_quoted(c.name) for c in columns])
    as_sql = [f"{_quoted(c.name)} GENERATED ALWAYS AS ({t}) VIRTUAL" if t else _quoted(c.name) for c, t in zip(columns, told, strict=True)]
    db.execute(f"CREATE TABLE {_quoted(table.name)} ({', '.join(as_sql) or 'empty_'})")
    cells = [_cells(c.column, c.kind) for c, t in zip(columns, told, strict=True) if not t]
    insert = f"INSERT INTO {_quoted(table.name)} VALUES ({', '.join('?' * len(cells))})"
    for start in range(0, table.n if cells else 0, _BATCH):
        some = slice(start, min(start + _BATCH, table.n))
        db.executemany(insert, zip(*(part(some) for part in cells), strict=True))


@dataclass(frozen=True)
class _Stored:
    """One column of the file."""

    name: str
    column: Column
    kind: str


def derived(columns: Sequence[Column], names: Sequence[str]) -> list[str]:
    """What each column is told by instead of being stored, "" where it is stored: its one value, or the name of an earlier
    column that holds the same.  At least one column is stored."""
    seen: dict[tuple[str, int], int] = {}
    out: list[str] = []
    for i, column in enumerate(columns):
        text, first = "", i
        if not isinstance(column, Ragged) and len(column) > 1:
            text = _one_value(column) if i else ""
            if not text and column.dtype != object:
                first = seen.setdefault((column.dtype.str, hash(column.tobytes())), i)
        out.append(text or (names[first] if first < i and columns[first].tobytes() == column.tobytes() else ""))  # type: ignore[union-attr]
    return out


def _one_value(column: NDArray[Any]) -> str:
    """The value as SQL where all rows hold the same, else ""."""
    first = column[0]
    if column.dtype == object:
        return _text(str(first)) if column.tolist().count(first) == len(column) else ""
    if column.dtype.kind == "f":
        if np.isnan(first):
            return "NULL" if np.isnan(column).all() else ""
        return repr(float(first)).replace("inf", "9e999") if (column == first).all() else ""
    return str(int(first)) if (column == first).all() else ""


def _text(value: str) -> str:
    return "" if "\0" in value else "'" + value.replace("'", "''") + "'"


def _names(name: str, kind: str, width: int) -> list[str]:
    return [f"{name}_{i}" for i in range(width)] if kind == "matrix" else [name]


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _kind(column: Column) -> tuple[str, int]:
    """What a column is, and the number of its components (0: plain)."""
    if isinstance(column, Ragged):
        return "ragged", int(np.prod(column.values.shape[1:])) if column.values.ndim > 1 else 0
    if column.ndim == 2:
        return "matrix", column.shape[1]
    return {"f": "float", "i": "int", "b": "bool", "u": "int"}.get(column.dtype.kind, "text"), 0


def _parts(column: Column, kind: str) -> list[Column]:
    """A column a component."""
    return [np.ascontiguousarray(part) for part in column.T] if kind == "matrix" else [column]  # type: ignore[union-attr]


def _cells(column: Column, kind: str) -> Callable[[slice], list[Any]]:
    """What gives a slice of rows as values for SQLite."""
    if isinstance(column, Ragged):
        texts: dict[bytes, str] = {}
        return lambda rows: [_json(column[i], texts) for i in range(rows.start, rows.stop)]
    if kind == "bool":
        return lambda rows: column[rows].astype(np.int64).tolist()
    if kind == "text":
        return lambda rows: [v if type(v) is str else str(v) for v in column[rows].tolist()]
    return lambda rows: column[rows].tolist()


def _json(row: NDArray[Any], texts: dict[bytes, str]) -> str:
    """JSON of a row; panels of one shape share their outline's text."""
    key = row.tobytes()
    text = texts.get(key)
    if text is None:
        text = texts[key] = json.dumps(row.tolist())
    return text


def load(folder: Path | str, wanted: Mapping[str, Collection[str]] | None = None) -> Result:
    """The result of an earlier run; raises InputError where the folder holds none.

    wanted: tables, each with the columns to load (none named: all of them); left out: everything.
    """
    path = Path(folder) / FILE
    if not path.is_file():
        raise InputError(f"no {FILE} here", str(folder), "pass the output folder of `bimcheck run`")
    try:
        with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as db:
            facts = {k: json.loads(v) for k, v in db.execute("SELECT key, value FROM bimcheck_facts")}
            names = [n for (n,) in db.execute("SELECT DISTINCT tbl FROM bimcheck_columns ORDER BY rowid")]
            tables = {n: _load_table(db, n, (wanted or {}).get(n, ())) for n in names if wanted is None or n in wanted}
    except sqlite3.DatabaseError as problem:
        raise InputError(f"cannot be read: {problem}", str(path), "run bimcheck again") from problem
    return Result(tables, facts)


def _load_table(db: sqlite3.Connection, name: str, wanted: Collection[str]) -> Table:
    """A table, or the columns `wanted` of it; what is shared with `elements` comes from there."""
    kinds = _kinds(db, name)
    theirs = _kinds(db, "elements")
    chosen = [c for c in kinds if not wanted or c in wanted]
    cells, parts = [], []
    for column in chosen:
        shared = kinds[column][0] == _SHARED
        kind, width = theirs[column] if shared else kinds[column]
        names = _names(column, kind, width)
        cells += [f"{'e' if shared else 't'}.{_quoted(n)}" for n in names]
        parts.append((kind, width, len(names)))
    joined = " JOIN elements AS e ON e.rowid = t.element + 1" if any(c.startswith("e.") for c in cells) else ""
    query = f"SELECT {', '.join(cells) or '1'} FROM {_quoted(name)} AS t{joined} ORDER BY t.rowid"
    rows = db.execute(query).fetchall()
    values: Iterator[Any] = iter(zip(*rows, strict=True)) if rows else itertools.repeat(())
    columns = {c: _column(kind, width, [next(values) for _ in range(n)]) for c, (kind, width, n) in zip(chosen, parts, strict=True)}
    return Table(name, len(rows), columns)


def _kinds(db: sqlite3.Connection, name: str) -> dict[str, tuple[str, int]]:
    found = db.execute("SELECT name, kind, width FROM bimcheck_columns WHERE tbl = ? ORDER BY position", (name,))
    return {n: (kind, width) for n, kind, width in found}


def _column(kind: str, width: int, parts: list[Any]) -> Any:
    if kind == "matrix":
        return np.column_stack([np.array(p, dtype=float) for p in parts]) if width else np.empty((0, 0))
    if kind == "ragged":
        known = {t: np.array(json.loads(t), dtype=float).reshape((-1, width) if width else (-1,)) for t in dict.fromkeys(parts[0])}
        return Ragged.of([known[t] for t in parts[0]], (width,) if width else ())
    if kind == "float":
        return np.array(parts[0], dtype=float)  # NULL is nan
    return np.array(parts[0], dtype={"int": np.int64, "bool": bool}.get(kind, object))
