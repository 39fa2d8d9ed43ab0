"""Tables: named NumPy columns of one length; ragged columns are values and offsets.

A table is a value: every change returns a new one.  Child tables name their parents by an index column, so that a
rule on a child may read a parent's column (gathered row by row).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

# child table -> (parent table, index column); looked up in this order.
PARENTS: dict[str, tuple[tuple[str, str], ...]] = {
    "panels": (("facades", "facade_index"),),
    "candidates": (("panels", "panel"), ("layouts", "layout")),
    "anchors": (("candidates", "candidate"),),
    "joints": (("panels", "panel"),),
}


@dataclass(frozen=True)
class Ragged:
    """Rows of different length: row i is values[offsets[i]:offsets[i + 1]].

    values: (m, ...) array; offsets: (n + 1,) int64, rising from 0 to m.
    """

    values: NDArray[Any]
    offsets: NDArray[np.int64]

    def __post_init__(self) -> None:
        if self.offsets[0] != 0 or self.offsets[-1] != len(self.values):
            raise ValueError("ragged offsets do not span the values")

    def __len__(self) -> int:
        return len(self.offsets) - 1

    def __getitem__(self, row: int) -> NDArray[Any]:
        return self.values[self.offsets[row] : self.offsets[row + 1]]

    def __iter__(self) -> Iterator[NDArray[Any]]:
        return (self[row] for row in range(len(self)))

    @property
    def lengths(self) -> NDArray[np.int64]:
        return np.diff(self.offsets)

    @property
    def rows(self) -> NDArray[np.int64]:
        """(m,) the row each value belongs to."""
        return np.repeat(np.arange(len(self)), self.lengths)

    def take(self, index: NDArray[Any]) -> Ragged:
        index = np.asarray(index, dtype=np.int64)
        lengths = self.lengths[index]
        offsets = np.concatenate([[0], np.cumsum(lengths)]).astype(np.int64)
        within = np.arange(offsets[-1]) - np.repeat(offsets[:-1], lengths)
        return Ragged(self.values[np.repeat(self.offsets[index], lengths) + within], offsets)

    @staticmethod
    def of(rows: Sequence[NDArray[Any]], width: tuple[int, ...] = (), dtype: Any = float) -> Ragged:
        """From a list of arrays; `width` is the trailing shape used when all rows are empty."""
        offsets = np.concatenate([[0], np.cumsum([len(r) for r in rows])]).astype(np.int64)
        full = [np.asarray(r, dtype=dtype) for r in rows if len(r)]
        return Ragged(np.concatenate(full) if full else np.empty((0, *width), dtype=dtype), offsets)


Column = NDArray[Any] | Ragged


@dataclass(frozen=True)
class Table(Mapping[str, Any]):
    """A named set of columns of one length `n`."""

    name: str
    n: int
    columns: Mapping[str, Column] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for key, column in self.columns.items():
            if len(column) != self.n:
                raise ValueError(f"table {self.name}: column {key} has {len(column)} rows, expected {self.n}")

    def __getitem__(self, key: str) -> Any:
        return self.columns[key]

    def __contains__(self, key: object) -> bool:
        return key in self.columns

    def __iter__(self) -> Iterator[str]:
        return iter(self.columns)

    def __len__(self) -> int:
        """Number of columns (a Mapping); the number of rows is `n`."""
        return len(self.columns)

    def with_columns(self, **columns: Any) -> Table:
        return Table(self.name, self.n, {**self.columns, **columns})

    def take(self, index: NDArray[Any]) -> Table:
        """Rows by integer index or boolean mask."""
        index = np.asarray(index)
        index = np.flatnonzero(index) if index.dtype == bool else index.astype(np.int64)
        return Table(self.name, len(index), {
            k: c.take(index) if isinstance(c, Ragged) else c[index] for k, c in self.columns.items()
        })


def concat(name: str, parts: Sequence[Table]) -> Table:
    """Rows of tables with the same columns, one after the other."""
    keys = list(parts[0]) if parts else []
    return Table(name, sum(p.n for p in parts), {k: _join([p[k] for p in parts]) for k in keys})


def _join(columns: Sequence[Column]) -> Column:
    if isinstance(columns[0], Ragged):
        lengths = np.concatenate([c.lengths for c in columns])  # type: ignore[union-attr]
        offsets = np.concatenate([[0], np.cumsum(lengths)]).astype(np.int64)
        return Ragged(np.concatenate([c.values for c in columns]), offsets)  # type: ignore[union-attr]
    return np.concatenate(columns)  # type: ignore[arg-type]


Tables = Mapping[str, Table]


def gather(tables: Tables, table: str, column: str) -> Column | None:
    """The column as seen from `table`: its own, else a parent's taken row by row; None where there is none."""
    own = tables.get(table)
    if own is None:
        return None
    if column in own:
        return own[column]
    for parent, index in PARENTS.get(table, ()):
        if parent in tables and index in own:
            found = gather(tables, parent, column)
            if found is not None:
                rows = own[index]
                return found.take(rows) if isinstance(found, Ragged) else found[rows]
    return None


def segment(reduce: Callable[..., Any], values: NDArray[Any], groups: NDArray[Any], n: int, empty: float) -> NDArray[Any]:
    """Reduce `values` by integer group to (n,) with a ufunc such as np.maximum; groups without a row get `empty`."""
    out = np.full(n, empty, dtype=float)
    order = np.argsort(groups, kind="stable")
    sorted_groups = np.asarray(groups)[order]
    starts = np.flatnonzero(np.r_[True, sorted_groups[1:] != sorted_groups[:-1]]) if len(order) else []
    if len(order):
        out[sorted_groups[starts]] = reduce.reduceat(np.asarray(values)[order], starts)  # type: ignore[attr-defined]
    return out
