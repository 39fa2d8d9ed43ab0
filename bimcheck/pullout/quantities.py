"""Columns with units: the unit of each cell by its heading, a unit column or the cell itself; values in mm, N, MPa."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import factor
from bimcheck.pullout.cells import CellError, decimal_comma, number, split_unit
from bimcheck.pullout.columns import BY_NAME, UNIT_COLUMNS, UNITS, Kind
from bimcheck.pullout.sheet import Heading, Sheet

Report = Callable[[int, str, str, str], None]  # row, heading, what, do


def measured_columns(sheet: Sheet, report: Report) -> dict[str, NDArray[np.float64]]:
    """(n,) arrays by column name; nan where the file says nothing.  Cells that cannot be read are reported."""
    at = [i for i, h in enumerate(sheet.headings) if h.name in BY_NAME and BY_NAME[h.name].kind in UNITS]
    comma = True if sheet.delimiter == ";" and _comma(sheet, at) is None and _has_comma(sheet, at) else _comma(sheet, at)
    values: dict[str, NDArray[np.float64]] = {}
    for i in at:
        heading = sheet.headings[i]
        column = _column(sheet, i, comma, report)
        values[heading.name] = _merge(values.get(heading.name), column, heading, report)
    return values


def _comma(sheet: Sheet, at: list[int]) -> bool | None:
    return decimal_comma(cell.strip().split(" ")[0] for i in at for cell in sheet.column(i))


def _has_comma(sheet: Sheet, at: list[int]) -> bool:
    return any("," in cell for i in at for cell in sheet.column(i))


def _column(sheet: Sheet, index: int, comma: bool | None, report: Report) -> NDArray[np.float64]:
    heading = sheet.headings[index]
    kind = BY_NAME[heading.name].kind
    stated = _unit_column(sheet, kind)
    out = np.full(len(sheet.cells), np.nan)
    for row, cell in enumerate(sheet.column(index)):
        if not cell.strip():
            continue
        try:
            text, own = split_unit(cell)
            unit = _unit(kind, heading.unit, stated[row] if stated else "", own)
            out[row] = _positive(number(text, comma)) * factor(unit)
        except CellError as problem:
            report(row, heading.written, problem.what, problem.do)
    return out


def _unit_column(sheet: Sheet, kind: Kind) -> list[str]:
    names = [h.name for h in sheet.headings]
    return next((sheet.column(names.index(c)) for c, k in UNIT_COLUMNS.items() if k == kind and c in names), [])


def _unit(kind: Kind, *stated: str) -> str:
    """The one unit that heading, unit column and cell agree on."""
    known = {u.casefold(): u for u in UNITS[kind]}
    said = {u.strip().casefold() for u in stated if u.strip()}
    unknown = sorted(said - known.keys())
    if unknown:
        raise CellError(f"unit '{unknown[0]}' is not known for a {kind}", f"use {', '.join(known.values())}")
    if len(said) > 1:
        raise CellError(f"two units for one {kind}: {', '.join(sorted(known[u] for u in said))}", "state one")
    if not said:
        raise CellError(f"no unit for this {kind}", f"write it into the heading (_{UNITS[kind][0]}, ...) "
                        f"or add a column {next(c for c, k in UNIT_COLUMNS.items() if k == kind)}")
    return known[said.pop()]


def _positive(value: float) -> float:
    if not value > 0:
        raise CellError(f"{value:g} is not above zero", "correct it, or take the row out")
    if not np.isfinite(value):
        raise CellError("the number is too great", "correct it")
    return value


def _merge(before: NDArray[np.float64] | None, new: NDArray[np.float64], heading: Heading, report: Report) -> NDArray[np.float64]:
    """Two columns of one name in two units: each row takes the one that is filled; both must agree within 1 %."""
    if before is None:
        return new
    for row in np.flatnonzero(np.abs(before - new) > 0.01 * np.abs(before)):
        report(int(row), heading.written, "two columns state different values", "keep one of them")
    return np.where(np.isnan(before), new, before)
