"""Rows of a large sheet as they stand in the file, column by column: five times as fast as a call a cell.

The workbook around them is the library's; only the rows are ours.  Office Open XML, SpreadsheetML: c, row, inlineStr.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any
from xml.sax.saxutils import escape

from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

from bimcheck.write.junit import clean

LONGEST = 32_767  # characters that a cell holds
TALLEST = 6  # lines
LINE = 14.5  # points
_ESCAPED = re.compile("_(x[0-9A-Fa-f]{4}_)")  # would be read as a character


class RowsSheet(Worksheet):
    """A sheet that takes rows ready-made, after the headings."""

    def pour(self, rows: Iterator[str], links: Iterable[tuple[int, int, str, str]], last_row: int, last_column: int) -> None:
        """rows: XML of the rows from the second to `last_row` (counted from 0).  links: row, column, target, text of the cell."""
        self._check_dimensions(last_row, last_column)
        self._write_single_row(last_row + 1)  # the headings leave the library's hands
        self.row_data_fh.writelines(rows)
        for row, column, target, text in links:
            self.previous_row = row  # the library takes links only from rows that it has not let go of
            self.write_url(row, column, target, None, text)
            self.table.clear()  # their cells are written already
        self.previous_row = last_row + 1


def text_cells(values: Sequence[str], column: int, style: int, blank: str = "") -> list[tuple[str, str]]:
    """What stands before and behind the row's number in each cell; blank: the same of an empty cell."""
    head = f'<c r="{xl_col_to_name(column)}'
    known = {v: (head, f'" s="{style}" t="inlineStr"><is><t{_spaced(v)}>{_plain(v)}</t></is></c>') if v else _empty(head, blank) for v in set(values)}
    return [known[v] for v in values]


def _empty(head: str, blank: str) -> tuple[str, str]:
    return (head, blank) if blank else ("", "")


def _spaced(text: str) -> str:
    return ' xml:space="preserve"' if text != text.strip() or "\n" in text else ""


def _plain(text: str) -> str:
    cut = clean(text if len(text) <= LONGEST else text[: LONGEST - 4] + " ...")
    return escape(_ESCAPED.sub(r"_x005F_\1", cut) if "_x" in cut else cut)


def number_cells(values: Sequence[float], column: int, style: int, text_style: int) -> list[tuple[str, str]]:
    """The same for numbers: nothing for nan, words for what has no limit."""
    head = f'<c r="{xl_col_to_name(column)}'
    words = {math.inf: "no limit", -math.inf: "none"}
    known = {v: (head, f'" s="{text_style}" t="inlineStr"><is><t>{words[v]}</t></is></c>') if v in words else (head, f'" s="{style}"><v>{v!r}</v></c>')
             for v in set(values) if v == v}  # noqa: PLR0124  (nan is not itself)
    return [known.get(v, ("", "")) for v in values]


def lines_of(values: Sequence[str], width: float) -> list[int]:
    """Lines that each wrapped text needs; programs do not work it out for themselves when they open a file."""
    known = {v: min(sum(max(1, math.ceil(len(part) / width)) for part in v.split("\n")), TALLEST) for v in set(values)}
    return [known[v] for v in values]


def rows_xml(columns: Sequence[Sequence[tuple[str, str]]], lines: Sequence[int], hidden: Sequence[bool], first: int) -> Iterator[str]:
    """Rows from the number `first` (counted from 1) on: cells side by side, as high as their lines need."""
    for k, cells in enumerate(zip(*columns, strict=True)):
        number = str(first + k)
        high = f' ht="{LINE * lines[k]:g}" customHeight="1"' if lines and lines[k] > 1 else ""
        gone = ' hidden="1"' if hidden and hidden[k] else ""
        yield f'<row r="{number}"{high}{gone}>' + "".join([a + number + b for a, b in cells if b]) + "</row>"


def plain_texts(column: Any) -> list[str]:
    """Texts of a column, blank for None."""
    return [v if type(v) is str else "" if v is None else str(v) for v in column.tolist()]
