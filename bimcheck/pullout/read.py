"""A series file as a table: one row a specimen, mm, N, MPa."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table
from bimcheck.core.units import base
from bimcheck.pullout.cells import CellError, day, word
from bimcheck.pullout.columns import BY_NAME, COLUMNS, FLEXURAL, PULL_OUT, UNITS, Column
from bimcheck.pullout.flexural import TESTS, breaking_strength
from bimcheck.pullout.quantities import measured_columns
from bimcheck.pullout.sheet import Sheet, parse


@dataclass(frozen=True)
class Series:
    """A file of tests: its name and hash, and the table `series`.

    Columns of the table: those of `columns.COLUMNS` (text '' and numbers nan where nothing stands), `line` (of the file),
    `value` (N for pull-out, MPa for flexural tests) and `breaking_strength` (N, ISO 10545-4 tests only).
    """

    file: str
    sha256: str
    table: Table


@dataclass
class _Problems:
    """What is wrong with cells, collected so that one run tells how many there are."""

    sheet: Sheet
    name: str
    found: list[tuple[int, str, str, str]] = field(default_factory=list)

    def report(self, row: int, heading: str, what: str, do: str) -> None:
        self.found.append((self.sheet.lines[row], heading, what, do))

    def raise_first(self) -> None:
        if not self.found:
            return
        line, heading, what, do = min(self.found, key=lambda p: p[0])
        others = sorted({p[0] for p in self.found} - {line})
        more = f"; {len(others)} more rows to correct: {', '.join(map(str, others[:8]))}{' ...' * (len(others) > 8)}" if others else ""
        raise InputError(what, f"{self.name}, row {line}, column {heading}", do + more)


def read(path: Path, today: date) -> Series:
    """Raises InputError (row and column) for a file or cell that cannot be used.  today: later test dates are refused."""
    try:
        data = path.read_bytes()
    except OSError as problem:
        raise InputError(f"cannot be read: {problem.strerror}", str(path), "name a series file (CSV)") from problem
    return Series(path.name, sha256(data).hexdigest(), table_of(parse(data, path.name), path.name, today))


def table_of(sheet: Sheet, name: str, today: date) -> Table:
    """The table `series` of a parsed sheet."""
    problems = _Problems(sheet, name)
    columns: dict[str, NDArray[Any]] = {c.name: _words(sheet, c, problems) for c in COLUMNS if c.kind not in UNITS}
    columns |= {c.name: np.full(len(sheet.cells), np.nan) for c in COLUMNS if c.kind in UNITS}
    columns |= measured_columns(sheet, problems.report)
    _defaults(columns)
    _require_cells(columns, problems)
    _plausible(columns, problems)
    _not_in_future(columns["date"], today, problems)
    problems.raise_first()
    columns["line"] = np.array(sheet.lines)
    table = Table("series", len(sheet.cells), columns)
    return table.with_columns(value=_values(table), breaking_strength=_breaking(table))


def _words(sheet: Sheet, column: Column, problems: _Problems) -> NDArray[Any]:
    at = next((i for i, h in enumerate(sheet.headings) if h.name == column.name), None)
    out = np.full(len(sheet.cells), "", dtype=object)
    for row, cell in enumerate(sheet.column(at) if at is not None else []):
        try:
            out[row] = _reader(column)(cell)
        except CellError as problem:
            problems.report(row, column.name, problem.what, problem.do)
    return _first_spelling(out) if column.kind == "text" else out


def _reader(column: Column) -> Callable[[str], str]:
    if column.kind == "date":
        return day
    if column.kind == "choice":
        return lambda cell: word(cell, column)
    return lambda cell: " ".join(cell.split())


def _first_spelling(words: NDArray[Any]) -> NDArray[Any]:
    """'Grey' and 'grey' are one word: the spelling that stands first."""
    spelling: dict[str, str] = {}
    return np.array([spelling.setdefault(w.casefold(), w) for w in words], dtype=object)


def _defaults(columns: dict[str, NDArray[Any]]) -> None:
    """A row without `test` is a pull-out test unless it names a flexural standard; pull-out is in tension."""
    flexural = (columns["test"] == FLEXURAL) | ((columns["test"] == "") & (columns["standard"] != ""))
    columns["test"] = np.where(flexural, FLEXURAL, PULL_OUT).astype(object)
    columns["direction"] = np.where(~flexural & (columns["direction"] == ""), "tension", columns["direction"]).astype(object)


def _require_cells(columns: dict[str, NDArray[Any]], problems: _Problems) -> None:
    reported = {(line, heading) for line, heading, _, _ in problems.found}
    by_load = (columns["test"] == FLEXURAL) & np.isnan(columns["strength"])
    needed = {c.name: (columns["test"] == c.needed) | (c.needed == "always") for c in COLUMNS if c.needed}
    needed["load"] = needed["load"] | by_load
    needed |= {"span": by_load, "width": by_load, "standard": by_load}
    for name, rows in needed.items():
        for row in np.flatnonzero(rows & _empty(columns[name])):
            written = next((h.written for h in problems.sheet.headings if h.name == name), name)
            if (problems.sheet.lines[row], written) not in reported:
                problems.report(int(row), written, f"no {name} for this {columns['test'][row]} test", "fill it in")
    _directions(columns, problems)


def _empty(column: NDArray[Any]) -> NDArray[np.bool_]:
    return column == "" if column.dtype == object else np.isnan(column)


def _directions(columns: dict[str, NDArray[Any]], problems: _Problems) -> None:
    allowed = {PULL_OUT: ("tension", "shear"), FLEXURAL: ("", "parallel", "perpendicular")}
    for row, (test, direction) in enumerate(zip(columns["test"], columns["direction"], strict=True)):
        if direction not in allowed[test]:
            problems.report(row, "direction", f"'{direction}' does not go with a {test} test",
                            f"write {' or '.join(filter(None, allowed[test]))}")


def _plausible(columns: dict[str, NDArray[Any]], problems: _Problems) -> None:
    """What no specimen can be; it mostly means that a unit is mixed up."""
    t = columns["thickness"]
    off = "it is more than 50 times off the others of its kind; all in one unit?"
    impossible = [
        *((name, _far(columns[name], columns), off) for name in ("load", "strength")),
        ("thickness", (t < 3) | (t > 300), "a panel 3 to 300 mm thick is expected"),
        ("embedment", columns["embedment"] >= t, "the embedment must stay below the thickness"),
        ("measured_thickness", np.abs(columns["measured_thickness"] / t - 1) > 0.5, "it differs by more than half from the nominal one"),
        *((name, (columns[name] < 1) | (columns[name] > 1e4), "1 mm to 10 m is expected") for name in ("edge", "spacing", "ring", "span", "width")),
        ("load", (columns["load"] < 1) | (columns["load"] > 1e6), "1 N to 1 MN is expected"),
        ("strength", (columns["strength"] < 0.01) | (columns["strength"] > 1e4), "0.01 to 10,000 MPa is expected"),
    ]
    reported = {(line, heading) for line, heading, _, _ in problems.found}
    for name, rows, text in impossible:
        for row in np.flatnonzero(rows):
            written = next(h.written for h in problems.sheet.headings if h.name == name)
            if (problems.sheet.lines[row], written) not in reported:
                reported.add((problems.sheet.lines[row], written))
                problems.report(int(row), written, f"{columns[name][row]:g} {_base_unit(name)} cannot be right: {text}", "correct the cell or its unit")


def _base_unit(name: str) -> str:
    """'mm', 'N' or 'MPa'."""
    return base(UNITS[BY_NAME[name].kind][0])


def _far(x: NDArray[np.float64], columns: dict[str, NDArray[Any]]) -> NDArray[np.bool_]:
    """More than 50 times above or below the median of the same test, material and nominal thickness."""
    keys = [f"{a}|{b}|{c}" for a, b, c in zip(columns["test"], columns["material"], columns["thickness"], strict=True)]
    _, group = np.unique(keys, return_inverse=True)
    out = np.zeros(len(x), dtype=bool)
    for g in np.unique(group[~np.isnan(x)]):
        rows = np.flatnonzero((group == g) & ~np.isnan(x))
        out[rows] = np.abs(np.log(x[rows] / np.median(x[rows]))) > np.log(50)
    return out


def _not_in_future(dates: NDArray[Any], today: date, problems: _Problems) -> None:
    for row in np.flatnonzero(dates > today.isoformat()):
        problems.report(int(row), "date", f"{dates[row]} lies after {today.isoformat()}, the date of this run",
                        "correct it, or state --date")


def _values(table: Table) -> NDArray[np.float64]:
    out = np.where(table["test"] == PULL_OUT, table["load"], table["strength"]).astype(float)
    h = np.where(np.isnan(table["measured_thickness"]), table["thickness"], table["measured_thickness"])
    for name, test in TESTS.items():
        rows = (table["test"] == FLEXURAL) & (table["standard"] == name) & np.isnan(table["strength"])
        out[rows] = test.strength(table["load"][rows], table["span"][rows], table["width"][rows], h[rows])
    return out


def _breaking(table: Table) -> NDArray[np.float64]:
    rows = (table["standard"] == "ISO 10545-4") & ~np.isnan(table["span"]) & ~np.isnan(table["width"])
    return np.where(rows, breaking_strength(table["load"], table["span"], table["width"]), np.nan)
