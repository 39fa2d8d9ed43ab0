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

_BASE = {"font_name": "Calibri", "font_size": 10, "valign": "top"}
_LOOKS: dict[str, dict[str, Any]] = {
    "title": {"font_size": 16, "bold": True, "font_color": "#1F3A4D"},
    "subtitle": {"italic": True, "font_color": "#555555"},
    "caution": {"text_wrap": True, "bg_color": "#FFF3DC", "border": 1, "border_color": "#E0B060"},
    "head": {"bold": True, "bg_color": "#1F3A4D", "font_color": "#FFFFFF", "text_wrap": True, "border": 1, "border_color": "#FFFFFF", "valign": "vcenter"},
    "text": {"text_wrap": True, "bottom": 4, "bottom_color": "#BBBBBB"},
    "strong": {"text_wrap": True, "bold": True, "bottom": 4, "bottom_color": "#BBBBBB"},
    "input": {"bg_color": "#EAF2FB", "border": 1, "border_color": "#7FA6C9", "num_format": "0.00"},
    "good": {"text_wrap": True, "bold": True, "bg_color": "#D9EAF7", "bottom": 4, "bottom_color": "#BBBBBB"},
    "bad": {"text_wrap": True, "bold": True, "bg_color": "#FCE0C8", "bottom": 4, "bottom_color": "#BBBBBB"},
}


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
            extra = _LOOKS.get(name) or _LOOKS["text"] | {"num_format": name, "align": "right"}
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
        sheet.set_row(top, 15 * (1 + max(-(-len(h.title) // max(int(h.width) - 1, 1)) - 1 for h in heads)))
        row = top
        for row, values in enumerate(rows, start=top + 1):
            for column, (head, value) in enumerate(zip(heads, values, strict=True)):
                self.cell(sheet, row, column, value, head.look)
        if filtered and row > top:
            sheet.autofilter(top, 0, row, len(heads) - 1)
        sheet.repeat_rows(top)
        return row + 1

    def cell(self, sheet: Worksheet, row: int, column: int, value: Any, look: str) -> None:
        """Text always as text, so that a name that begins with = stays a name; nan as 'n/a'."""
        if isinstance(value, str):
            style = look if look in ("text", "strong", "good", "bad") else "text"
            sheet.write_string(row, column, value, self.look(_verdict(value) if look == "verdict" else style))
        elif value is None or (isinstance(value, float) and math.isnan(value)):
            sheet.write_string(row, column, "" if value is None else "n/a", self.look("text"))
        elif math.isinf(value):
            sheet.write_string(row, column, "unbounded", self.look("text"))
        else:
            sheet.write_number(row, column, float(value), self.look(look))


def _verdict(value: str) -> str:
    return "good" if value.startswith(("may be pooled", "no drift")) else "bad"
