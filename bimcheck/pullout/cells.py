"""Single cells: numbers with point or comma, units, dates, words.  A cell that cannot be read raises CellError."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from bimcheck.pullout.columns import Column

_SPACE = "[ \u00a0\u202f]"  # plain, no-break and narrow no-break: separators of thousands
_NUMBER = re.compile(rf"([+-]?(?:\d{{1,3}}(?:{_SPACE}\d{{3}})+(?:[.,]\d+)?|[\d.,]*\d)(?:[eE][+-]?\d+)?)\s*([A-Za-z/]*)")
_GROUPS = {",": re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+"), ".": re.compile(r"[+-]?[1-9]\d{0,2}(\.\d{3})+")}


class CellError(ValueError):
    """what is wrong with the cell, and what to do."""

    def __init__(self, what: str, do: str) -> None:
        super().__init__(what)
        self.what, self.do = what, do


def split_unit(cell: str) -> tuple[str, str]:
    """'3,42 kN' -> ('3,42', 'kN'); the unit is '' where none stands.  Raises CellError for text."""
    found = _NUMBER.fullmatch(cell.strip())
    if not found:
        raise CellError(f"'{short(cell)}' is not a number", "write a number")
    return re.sub(_SPACE, "", found[1]), found[2]


def decimal_comma(numbers: Iterable[str]) -> bool | None:
    """Whether the file writes decimals with a comma: True, False, or None where nothing tells."""
    comma = point = False
    for text in numbers:
        if "," in text and "." in text:
            comma, point = comma or text.rfind(",") > text.rfind("."), point or text.rfind(".") > text.rfind(",")
        elif "," in text:
            comma = comma or not _GROUPS[","].fullmatch(text)
        elif "." in text:
            point = point or not _GROUPS["."].fullmatch(text)
    return None if comma == point else comma


def number(text: str, comma: bool | None) -> float:
    """A number in which `comma` tells the file's decimal mark (None: unknown).

    A mark followed by groups of three digits, where the file does not tell what it means, is refused: it may be off by
    a factor of a thousand.
    """
    if "," in text and "." in text:
        decimal = "," if text.rfind(",") > text.rfind(".") else "."
        return _float(text.replace("." if decimal == "," else ",", "").replace(",", "."), text)
    mark = "," if "," in text else "."
    grouped = _GROUPS[mark].fullmatch(text)
    if grouped and text.count(mark) > 1:
        return _float(text.replace(mark, ""), text)
    if grouped and ((mark == "," and comma is not True) or (mark == "." and comma is True)):
        raise CellError(f"'{text}' may mean {text.replace(mark, '.')} or {text.replace(mark, '')}",
                        "write it without separator of thousands")
    return _float(text.replace(",", "."), text)


def _float(text: str, shown: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise CellError(f"'{short(shown)}' is not a number", "write a number") from None


def day(cell: str) -> str:
    """ISO date of 'YYYY-MM-DD' or 'DD.MM.YYYY'; '' stays ''."""
    text = cell.strip()
    parts = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ].*)?", text)
    swapped = re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", text)
    if not text:
        return ""
    try:
        if parts:
            return date(*map(int, parts.groups())).isoformat()
        if swapped:
            return date(*map(int, swapped.groups()[::-1])).isoformat()
    except ValueError:
        pass
    raise CellError(f"'{short(cell)}' is not a date that can be read one way only", "write YYYY-MM-DD")


def word(cell: str, column: Column) -> str:
    """The canonical word of a choice, whatever its case or spelling."""
    text = " ".join(cell.split())
    low = text.casefold()
    for name, others in column.choices:
        if low in {name.casefold(), *(other.casefold() for other in others)}:
            return name
    if text and not column.open:
        raise CellError(f"'{short(text)}' is not known", f"write {', '.join(name for name, _ in column.choices)}")
    return text


def short(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= 40 else flat[:37] + "..."
