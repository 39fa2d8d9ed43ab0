"""The store: every table at full precision in one SQLite file that anything can query.

A plain column is a column; a matrix column is one column a component (name_0, name_1 ...); a ragged column is JSON text.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Ragged, Table
from bimcheck.result import Result

FILE = "result.sqlite"
_LEFT_OUT = {("obstacles", "triangles")}  # bodies stay in the model


def save(result: Result, folder: Path) -> Path:
    """Write the store whole or not at all."""
    target, part = folder / FILE, folder / (FILE + ".part")
    part.unlink(missing_ok=True)
    with sqlite3.connect(part, isolation_level=None) as db:
        db.execute("PRAGMA journal_mode=OFF")
        db.execute("PRAGMA synchronous=OFF")
        db.execute("BEGIN")
        db.execute("CREATE TABLE bimcheck_facts (key TEXT PRIMARY KEY, value TEXT)")
        db.execute("CREATE TABLE bimcheck_columns (tbl TEXT, name TEXT, kind TEXT, width INTEGER, position INTEGER)")
        db.executemany("INSERT INTO bimcheck_facts VALUES (?, ?)",
                       [(k, json.dumps(v, sort_keys=True)) for k, v in result.facts.items() if k not in ("seconds", "peak_memory_MB")])
        for table in result.tables.values():
            _save_table(db, table)
        db.execute("COMMIT")
    db.close()
    os.replace(part, target)
    return target


def _save_table(db: sqlite3.Connection, table: Table) -> None:
    names, columns = [], []
    for position, (name, column) in enumerate(table.columns.items()):
        if (table.name, name) in _LEFT_OUT:
            continue
        kind, width, parts = _parts(column)
        db.execute("INSERT INTO bimcheck_columns VALUES (?, ?, ?, ?, ?)", (table.name, name, kind, width, position))
        names += [name] if len(parts) == 1 and kind != "matrix" else [f"{name}_{i}" for i in range(len(parts))]
        columns += parts
    db.execute(f"CREATE TABLE {_quoted(table.name)} ({', '.join(_quoted(n) for n in names) or 'nothing'})")
    if names and table.n:
        marks = ", ".join("?" * len(names))
        db.executemany(f"INSERT INTO {_quoted(table.name)} VALUES ({marks})", zip(*columns, strict=True))


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _parts(column: Any) -> tuple[str, int, list[list[Any]]]:
    if isinstance(column, Ragged):
        trailing = int(np.prod(column.values.shape[1:])) if column.values.ndim > 1 else 0
        return "ragged", trailing, [[json.dumps(row.tolist()) for row in column]]
    if column.ndim == 2:
        return "matrix", column.shape[1], [column[:, i].tolist() for i in range(column.shape[1])]
    kind = {"f": "float", "i": "int", "b": "bool", "u": "int"}.get(column.dtype.kind, "text")
    values = column.astype(np.int64).tolist() if kind == "bool" else column.tolist()
    return kind, 0, [[str(v) for v in values] if kind == "text" else values]


def load(folder: Path | str) -> Result:
    """The result of an earlier run; raises InputError where the folder holds none."""
    path = Path(folder) / FILE
    if not path.is_file():
        raise InputError(f"no {FILE} here", str(folder), "pass the output folder of `bimcheck run`")
    try:
        with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as db:
            facts = {k: json.loads(v) for k, v in db.execute("SELECT key, value FROM bimcheck_facts")}
            names = [n for (n,) in db.execute("SELECT DISTINCT tbl FROM bimcheck_columns ORDER BY rowid")]
            tables = {name: _load_table(db, name) for name in names}
    except sqlite3.DatabaseError as problem:
        raise InputError(f"cannot be read: {problem}", str(path), "run bimcheck again") from problem
    return Result(tables, facts)


def _load_table(db: sqlite3.Connection, name: str) -> Table:
    kinds = db.execute("SELECT name, kind, width FROM bimcheck_columns WHERE tbl = ? ORDER BY position", (name,)).fetchall()
    rows = db.execute(f"SELECT * FROM {_quoted(name)}").fetchall()
    values: Iterator[Any] = iter(zip(*rows, strict=True)) if rows else iter(())
    columns = {}
    for column, kind, width in kinds:
        parts = [next(values, ()) for _ in range(width if kind == "matrix" else 1)]
        columns[column] = _column(kind, width, parts)
    return Table(name, len(rows), columns)


def _column(kind: str, width: int, parts: list[Any]) -> Any:
    if kind == "matrix":
        return np.column_stack([np.array(p, dtype=float) for p in parts]) if width else np.empty((0, 0))
    if kind == "ragged":
        rows = [np.array(json.loads(t), dtype=float).reshape((-1, width) if width else (-1,)) for t in parts[0]]
        return Ragged.of(rows, (width,) if width else ())
    dtype: Any = {"float": float, "int": np.int64, "bool": bool}.get(kind, object)
    return np.array([np.nan if v is None and kind == "float" else v for v in parts[0]], dtype=dtype)
