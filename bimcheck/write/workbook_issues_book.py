"""Sheets of the issue workbook: headings, formats and cells; text stays text, whatever it begins with."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from bimcheck.write.junit import clean

LONGEST = 32_000  # characters; a cell holds 32,767
LINKS = 60_000  # a sheet holds 65,530 hyperlinks
DARK, PALE, RULE_LINE = "#24435C", "#EEF3F7", "#C5CED6"
LOOKS: dict[str, dict[str, Any]] = {
    "title": {"bold": True, "font_size": 16, "font_color": DARK},
    "heading": {"bold": True, "font_size": 12, "font_color": DARK, "bottom": 1, "bottom_color": DARK},
    "head": {"bold": True, "font_color": "#FFFFFF", "bg_color": DARK, "text_wrap": True, "valign": "top", "border": 1, "border_color": "#FFFFFF"},
    "typed_head": {"bold": True, "font_color": "#000000", "bg_color": "#F0E442", "text_wrap": True, "valign": "top", "border": 1, "border_color": "#FFFFFF"},
    "typed": {"bg_color": "#FFFCE0", "text_wrap": True, "valign": "top", "num_format": "@"},
    "text": {"num_format": "@", "valign": "top"},
    "wrap": {"num_format": "@", "text_wrap": True, "valign": "top"},
    "link": {"font_color": "#0072B2", "underline": 1, "valign": "top"},
    "caution": {"text_wrap": True, "bg_color": "#FFF1DB", "border": 1, "border_color": "#E69F00", "valign": "top"},
    # Vermillion, orange, blue: told apart by the colour-blind; the word stands beside the colour.
    "error": {"font_color": "#8A3A00", "bg_color": "#F9DDCB"}, "warning": {"bg_color": "#FDEBC8"}, "good": {"bg_color": "#D6E8F4"},
    "faint": {"font_color": "#777777"},
}


@dataclass(frozen=True)
class Field:
    """A column: heading with its unit, width in characters, look (text, wrap, typed or a number format), and the cell of
    a row (str, number or None)."""

    title: str
    width: float
    look: str
    cell: Callable[[Any], Any]


def _height(fields: Sequence[Field], cells: Sequence[Any]) -> float:
    """Points that the wrapped texts of a row need; programs do not work it out for themselves when they open a file."""
    lines = max((math.ceil(len(c) / f.width) for f, c in zip(fields, cells, strict=True) if f.look in ("wrap", "typed") and isinstance(c, str)), default=1)
    return 14.5 * min(max(lines, 1), 6)


class Book:
    """A workbook whose bytes follow from its content."""

    def __init__(self, workbook: Workbook) -> None:
        self.workbook = workbook
        self._formats: dict[str, Format] = {}
        # The date inside is fixed: the same content gives the same bytes.
        workbook.set_properties({"title": "Issues of the facade panels", "created": datetime(2000, 1, 1)})

    def look(self, name: str) -> Format:
        if name not in self._formats:
            self._formats[name] = self.workbook.add_format(LOOKS.get(name) or {"num_format": name, "valign": "top"})
        return self._formats[name]

    def sheet(self, name: str, *, tab: str = "") -> Worksheet:
        sheet = self.workbook.add_worksheet(name)
        sheet.set_landscape()
        sheet.set_paper(8)  # A3
        sheet.fit_to_pages(1, 0)
        sheet.set_footer("&L&A&Cpreliminary design aid; local codes and the engineer of record decide&R&P / &N")
        if tab:
            sheet.set_tab_color(tab)
        return sheet

    def table(self, name: str, fields: Sequence[Field], rows: Iterable[Any], *, frozen: int = 1, tab: str = "",
              links: tuple[int, Callable[[Any], str]] | None = None, empty: str = "nothing here",
              filters: Mapping[str, Sequence[str]] | None = None) -> Worksheet:
        """A sheet with one heading row and a row an entry; the heading and `frozen` columns stay in view.

        links: position of a column and the link of a row ("" = none).  filters: texts that a column shows, by heading;
        other rows are hidden.
        """
        sheet = self.sheet(name, tab=tab)
        for k, field in enumerate(fields):
            sheet.set_column(k, k, field.width)
        sheet.freeze_panes(1, frozen)
        sheet.repeat_rows(0)
        sheet.set_row(0, 32)
        for k, field in enumerate(fields):
            sheet.write_string(0, k, field.title, self.look("typed_head" if field.look == "typed" else "head"))
        last = 0
        shown = {k: set(filters[f.title]) for k, f in enumerate(fields) if filters and f.title in filters}
        for last, row in enumerate(rows, start=1):
            cells = [f.cell(row) for f in fields]
            hidden = any(str(cells[k]) not in texts for k, texts in shown.items())
            sheet.set_row(last, _height(fields, cells), None, {"hidden": True} if hidden else {})
            for k, (field, value) in enumerate(zip(fields, cells, strict=True)):
                url = links[1](row) if links and links[0] == k and last <= LINKS else ""
                self.put(sheet, last, k, value, field.look, url)
        if last:
            sheet.autofilter(0, 0, last, len(fields) - 1)
            for k, texts in shown.items():
                sheet.filter_column_list(k, sorted(t or "Blanks" for t in texts))
        else:
            sheet.write_string(1, 0, empty, self.look("faint"))
        return sheet

    def put(self, sheet: Worksheet, row: int, column: int, value: Any, look: str, url: str = "") -> None:
        """Text by its own call, so that =1+1 or 00123 stay what they are; nan and None leave the cell empty."""
        if isinstance(value, str):
            text = clean(value)
            if url:
                sheet.write_url(row, column, url, self.look("link"), text[:LONGEST])
            elif text or look == "typed":
                cut = text if len(text) <= LONGEST else text[:LONGEST] + " ..."
                style = self.look(look if look in LOOKS else "text")
                _ = sheet.write_string(row, column, cut, style) if cut else sheet.write_blank(row, column, None, style)
        elif value is not None and math.isinf(value):
            sheet.write_string(row, column, "no limit" if value > 0 else "none", self.look("text"))
        elif value is not None and not math.isnan(value):
            sheet.write_number(row, column, float(value), self.look(look))

    def colour(self, sheet: Worksheet, column: int, rows: int, words: dict[str, str]) -> None:
        """Colour cells of a column by the word they hold."""
        for word, look in words.items() if rows else ():
            sheet.conditional_format(1, column, rows, column, {
                "type": "cell", "criteria": "==", "value": f'"{word}"', "format": self.look(look)})

    def utilisation(self, sheet: Worksheet, column: int, rows: int) -> None:
        """Above 1 vermillion, above 0.9 orange, as a conditional format."""
        for least, look in ((1.0, "error"), (0.9, "warning")) if rows else ():
            sheet.conditional_format(1, column, rows, column, {"type": "cell", "criteria": ">", "value": least, "format": self.look(look),
                                                               "stop_if_true": True})
