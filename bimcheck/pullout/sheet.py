"""The file as rows of cells under known headings: encoding, delimiter, headings with their units."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from difflib import get_close_matches

from bimcheck.core.errors import InputError
from bimcheck.pullout.columns import ALIASES, BY_NAME, COLUMNS, UNIT_COLUMNS, UNITS


@dataclass(frozen=True)
class Heading:
    """A column of the file: the known name, the unit its heading states ('' where none) and the heading as written."""

    name: str
    unit: str
    written: str


@dataclass(frozen=True)
class Sheet:
    """Headings, cells (row by row, one per heading) and the line of the file each row ends in."""

    headings: tuple[Heading, ...]
    cells: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    delimiter: str

    def column(self, index: int) -> list[str]:
        return [row[index] for row in self.cells]


def parse(data: bytes, name: str) -> Sheet:
    """Raises InputError for a file without heading or rows, unknown or repeated columns, rows of another length."""
    text = _decode(data, name)
    delimiter = _delimiter(text)
    rows = [(line, cells) for line, cells in _rows(text, delimiter, name) if _is_data(cells)]
    if not rows:
        raise InputError("the file has no heading and no rows", name, "see bimcheck pullout --template")
    headings = _headings(rows[0][1], name)
    body = [(line, _fit(cells, len(headings), f"{name}, row {line}")) for line, cells in rows[1:]]
    if not body:
        raise InputError("the file has a heading but no rows", name, "add a row for each specimen")
    return Sheet(headings, tuple(cells for _, cells in body), tuple(line for line, _ in body), delimiter)


def _decode(data: bytes, name: str) -> str:
    if data[:4] == b"PK\x03\x04":
        raise InputError("this is a workbook, not a CSV file", name, "save the sheet as CSV")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16")
    if b"\0" in data:
        raise InputError("this is not a text file", name, "save the series as CSV")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _delimiter(text: str) -> str:
    """The mark that yields most cells in the heading."""
    first = next((line for line in text.splitlines() if line.strip() and not line.lstrip('"').startswith("#")), "")
    return max((",", ";", "\t"), key=first.count)


def _rows(text: str, delimiter: str, name: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        return [(reader.line_num, cells) for cells in reader]
    except csv.Error as problem:
        raise InputError(f"not a CSV file: {problem}", f"{name}, row {reader.line_num}", "save the series as CSV") from None


def _is_data(cells: list[str]) -> bool:
    return any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#")


def _fit(cells: list[str], width: int, where: str) -> tuple[str, ...]:
    """Cells beyond the heading must be empty; missing ones at the end are empty."""
    if any(cell.strip() for cell in cells[width:]):
        raise InputError(f"{len(cells)} cells under {width} headings", where,
                         "put cells with a comma (decimals too) in quotation marks, or separate cells by semicolons")
    return tuple(cells[:width]) + ("",) * (width - len(cells))


def _headings(cells: list[str], name: str) -> tuple[Heading, ...]:
    while cells and not cells[-1].strip():
        cells = cells[:-1]
    found = tuple(_heading(cell, f"{name}, column {i}") for i, cell in enumerate(cells, start=1))
    seen: set[tuple[str, str]] = set()
    for i, heading in enumerate(found, start=1):
        if (heading.name, heading.unit) in seen:
            raise InputError(f"column '{heading.written}' stands twice", f"{name}, column {i}", "keep one of them")
        seen.add((heading.name, heading.unit))
    _require(found, name)
    return found


def _heading(cell: str, where: str) -> Heading:
    """'load_kN', 'Load (kN)', 'load [kN]' -> load in kN."""
    written = " ".join(cell.split())
    plain = re.sub(r"[\s_/-]+", "_", written.casefold()).strip("_")
    plain = ALIASES.get(plain, plain)
    if plain in BY_NAME or plain in UNIT_COLUMNS:
        return Heading(plain, "", written)
    stem, unit = _split(plain)
    stem = ALIASES.get(stem, stem)
    if stem in BY_NAME and BY_NAME[stem].kind in UNITS:
        known = {u.casefold(): u for u in UNITS[BY_NAME[stem].kind]}
        if unit in known:
            return Heading(stem, known[unit], written)
        raise InputError(f"unit '{unit}' of column '{written}' is not known here", where, f"use {', '.join(known.values())}")
    raise InputError(f"unknown column '{written}'", where, _advice(plain))


def _split(plain: str) -> tuple[str, str]:
    found = re.fullmatch(r"(.*?)_?[(\[]([^)\]]*)[)\]]", plain) or re.fullmatch(r"(.*)_([^_]*)", plain)
    return (found[1], found[2]) if found else (plain, "")


def _advice(plain: str) -> str:
    near = get_close_matches(plain, [*BY_NAME, *UNIT_COLUMNS], n=1, cutoff=0.6)
    return f"did you mean '{near[0]}'?" if near else "see bimcheck pullout --template; notes belong in 'remark'"


def _require(headings: tuple[Heading, ...], name: str) -> None:
    have = {heading.name for heading in headings}
    missing = [c.name for c in COLUMNS if c.needed == "always" and c.name not in have]
    if not have & {"load", "strength"}:
        missing.append("load")
    if missing:
        raise InputError(f"column '{missing[0]}' is missing", f"{name}, heading", "add it; see bimcheck pullout --template")
