"""Pages of a workbook: headings, tables and formats, apart from what they say."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from bimcheck.pullout.present import CAUTION

_BASE = {"font_name": "Arial", "font_size": 9, "valign": "top"}
_LOOKS: dict[str, dict[str, Any]] = {
    "title": {"font_size": 16, "bold": True, "font_color": "#1F3A4D"},
    "subtitle": {"italic": True, "font_color": "#555555"},
    "caution": {"text_wrap": True, "bg_color": "#FFF3DC", "border": 1, "border_color": "#E0B060"},
    "head": {"bold": True, "align": "center", "bg_color": "#1F3A4D", "font_color": "#FFFFFF", "text_wrap": True, "border": 1, "border_color": "#FFFFFF", "valign": "vcenter"},
    "text": {"text_wrap": True, "align": "left", "indent": 1, "bottom": 4, "bottom_color": "#BBBBBB"},
    "strong": {"text_wrap": True, "align": "left", "indent": 1, "bold": True, "bottom": 4, "bottom_color": "#BBBBBB"},
    "number": {"align": "right", "indent": 1, "bottom": 4, "bottom_color": "#BBBBBB"},
    "none": {"align": "right", "indent": 1, "font_color": "#777777", "bottom": 4, "bottom_color": "#BBBBBB"},
    "input": {"bg_color": "#EAF2FB", "border": 1, "border_color": "#7FA6C9", "num_format": "0.00"},
    "good": {"text_wrap": True, "align": "left", "indent": 1, "bold": True, "bg_color": "#D9EAF7", "bottom": 4, "bottom_color": "#BBBBBB"},
    "bad": {"text_wrap": True, "align": "left", "indent": 1, "bold": True, "bg_color": "#FCE0C8", "bottom": 4, "bottom_color": "#BBBBBB"},
}


_LONGEST = 32_000  # a cell of a workbook holds 32,767 characters


@dataclass(frozen=True)
class Head:
    """A column: heading, width in characters, look ('text', 'strong', 'verdict') or number format ('0.00')."""

    title: str
    width: float
    look: str = "text"


class Book:
    """A workbook whose bytes depend on its content only."""

    def __init__(self, workbook: Workbook, footer: str) -> None:
        self.workbook, self._footer = workbook, footer
        self._formats: dict[str, Format] = {}

    def look(self, name: str) -> Format:
        if name not in self._formats:
            extra = _LOOKS.get(name) or _LOOKS["number"] | {"num_format": name}
            self._formats[name] = self.workbook.add_format(_BASE | extra)
        return self._formats[name]

    def page(self, name: str, title: str, subtitle: str = "", wide: bool = True) -> Worksheet:
        sheet = self.workbook.add_worksheet(name)
        sheet.hide_gridlines(2)
        sheet.write_string(0, 0, title, self.look("title"))
        sheet.set_row(0, 24)
        sheet.write_string(1, 0, subtitle, self.look("subtitle"))
        sheet.set_paper(8 if wide else 9)  # A3 or A4
        sheet.fit_to_pages(1, 0)
        sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.8)
        if wide:
            sheet.set_landscape()
        sheet.set_footer(f"&L&8{self._footer}&R&8&A, page &P of &N\n&C&8\n{CAUTION.split('. ')[0]}.")
        return sheet

    def table(self, sheet: Worksheet, top: int, heads: Sequence[Head], rows: Iterable[Sequence[Any]], *,
              filtered: bool = True) -> int:
        """Writes headings at row `top` and the rows below; returns the row after the last."""
        for column, head in enumerate(heads):
            sheet.set_column(column, column, head.width)
            sheet.write_string(top, column, head.title, self.look("head"))
        sheet.set_row(top, _height([h.title for h in heads], [h.width - 2 for h in heads]) + 4)
        widths, row = [h.width for h in heads], top
        for row, values in enumerate(rows, start=top + 1):
            self.row(sheet, row, values, [h.look for h in heads], widths)
        if filtered and row > top:
            sheet.autofilter(top, 0, row, len(heads) - 1)
        sheet.repeat_rows(top)
        return row + 1

    def row(self, sheet: Worksheet, row: int, values: Sequence[Any], looks: Sequence[str], widths: Sequence[float]) -> None:
        """Cells of a row, as high as its longest text needs."""
        sheet.set_row(row, _height(values, widths))
        for column, (value, look) in enumerate(zip(values, looks, strict=False)):
            self.cell(sheet, row, column, value, look)

    def cell(self, sheet: Worksheet, row: int, column: int, value: Any, look: str) -> None:
        """Text always as text, so that a name that begins with = stays a name; nan as 'n/a'."""
        if isinstance(value, str):
            style = look if look in ("text", "strong", "good", "bad") else "text"
            sheet.write_string(row, column, value[:_LONGEST], self.look(_verdict(value) if look == "verdict" else style))
        elif value is None or (isinstance(value, float) and math.isnan(value)):
            sheet.write_string(row, column, "" if value is None else "n/a", self.look("none"))
        elif math.isinf(value):
            sheet.write_string(row, column, "unbounded", self.look("none"))
        else:
            sheet.write_number(row, column, float(value), self.look(look))


def _height(values: Sequence[Any], widths: Sequence[float]) -> float:
    """Points for the wrapped lines of the longest text."""
    lines = (_lines(v, w) for v, w in zip(values, widths, strict=False) if isinstance(v, str))
    return 13.5 * max([1, *lines])


def _lines(text: str, width: float) -> int:
    """Lines of words wrapped in a column of `width` (characters of the default font, 10 points; ours has 9)."""
    count, used, room = 1, 0.0, max(1.15 * (width - 1), 3.0)
    for word in text.split():
        if used and used + 1 + len(word) > room:
            count, used = count + 1, 0.0
        used += (1 if used else 0) + len(word)
        count, used = count + int((used - 1e-9) // room), used if used <= room else used % room
    return count


def _verdict(value: str) -> str:
    return "good" if value.startswith(("may be pooled", "no drift")) else "bad"
