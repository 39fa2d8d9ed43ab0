"""Sheets of the issue workbook: headings, formats and cells; text stays text, whatever it begins with."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook

from bimcheck.core.tables import Table
from bimcheck.core.units import factor
from bimcheck.write.figures import LOOKS as UNIT_LOOKS
from bimcheck.write.figures import scale, unit_shown
from bimcheck.write.junit import clean
from bimcheck.write.workbook_issues_cells import (
    LONGEST,
    RowsSheet,
    lines_of,
    number_cells,
    plain_texts,
    rows_xml,
    text_cells,
)

LINKS = 60_000  # a sheet holds 65,530 hyperlinks
MOST = 1_048_575  # rows below the headings
BATCH = 10_000  # rows made at once
DARK = "#24435C"
_HEAD = {"bold": True, "text_wrap": True, "valign": "top", "border": 1, "border_color": "#FFFFFF"}
LOOKS: dict[str, dict[str, Any]] = {
    "title": {"bold": True, "font_size": 16, "font_color": DARK},
    "heading": {"bold": True, "font_size": 12, "font_color": DARK, "bottom": 1, "bottom_color": DARK},
    "head": {**_HEAD, "font_color": "#FFFFFF", "bg_color": DARK},
    "typed_head": {**_HEAD, "font_color": "#000000", "bg_color": "#F0E442"},
    "typed": {"bg_color": "#FFFCE0", "text_wrap": True, "valign": "top", "num_format": "@"},
    "text": {"num_format": "@", "valign": "top"},
    "wrap": {"num_format": "@", "text_wrap": True, "valign": "top"},
    "number": {"num_format": "0", "valign": "top", "align": "center"},
    "unit": {"num_format": "@", "valign": "top", "indent": 1},
    "link": {"font_color": "#0072B2", "underline": 1, "valign": "top", "text_wrap": True},
    "caution": {"text_wrap": True, "bg_color": "#FFF1DB", "border": 1, "border_color": "#E69F00", "valign": "top"},
    # Vermillion, orange, blue: told apart by the colour-blind; the word stands beside the colour.
    "error": {"font_color": "#8A3A00", "bg_color": "#F9DDCB"}, "warning": {"bg_color": "#FDEBC8"}, "good": {"bg_color": "#D6E8F4"},
    "faint": {"font_color": "#777777"},
}
WORDS = ("text", "unit", "wrap", "typed")


@dataclass(frozen=True)
class Field:
    """A column: heading, width in characters, look (text, wrap, typed or a number format), the column of the table, the unit
    in which it is shown ("" = none; the heading names it), and that of the table where it is another one."""

    title: str
    width: float
    look: str
    name: str
    unit: str = ""
    inside: str = ""

    def heading(self, units: str) -> str:
        return f"{self.title}, {unit_shown(self.unit, units)}" if self.unit else self.title

    def format(self, units: str) -> str:
        return UNIT_LOOKS.get(unit_shown(self.unit, units), self.look) if self.unit and units == "us" else self.look

    def scale(self, units: str) -> float:
        return factor(self.inside or self.unit, self.unit) * scale(self.unit, units) if self.unit else 1.0


@dataclass(frozen=True)
class Links:
    """Links from a column, by its name, to somewhere in the workbook: one a row, "" = none."""

    column: str
    to: Callable[[int], str]


class Book:
    """A workbook whose bytes follow from its content."""

    def __init__(self, workbook: Workbook, units: str = "si") -> None:
        self.workbook, self.units = workbook, units
        self._formats: dict[str, Format] = {}
        # The date inside is fixed: the same content gives the same bytes.
        workbook.set_properties({"title": "Issues of the facade panels", "created": datetime(2000, 1, 1)})

    def look(self, name: str) -> Format:
        if name not in self._formats:
            self._formats[name] = self.workbook.add_format(LOOKS.get(name) or {"num_format": name, "valign": "top"})
        return self._formats[name]

    def style(self, name: str) -> int:
        return self.look(name)._get_xf_index()

    def sheet(self, name: str, *, tab: str = "", fit: bool = True) -> RowsSheet:
        """fit: print all columns on one page's width."""
        sheet: Any = self.workbook.add_worksheet(name, RowsSheet)
        sheet.set_landscape()
        sheet.set_paper(8 if self.units == "si" else 3)  # A3 or 11 x 17 in
        if fit:
            sheet.fit_to_pages(1, 0)
        sheet.set_footer("&L&A&Cpreliminary design aid; local codes and the engineer of record decide&R&P / &N")
        if tab:
            sheet.set_tab_color(tab)
        return sheet

    def table(self, name: str, fields: Sequence[Field], rows: Table, *, frozen: int = 1, tab: str = "", links: Links | None = None,
              empty: str = "nothing here", filters: Mapping[str, Sequence[str]] | None = None,
              colours: Mapping[str, Mapping[str, str]] | None = None, last_printed: str = "") -> list[RowsSheet]:
        """A sheet with one heading row and a row an entry; the heading and `frozen` columns stay in view.

        What a sheet cannot hold goes on in "name 2" and so on.  filters: texts that a column shows, by heading; other
        rows are hidden.  colours: by column, look by word.  last_printed: column where the print ends.
        """
        starts = range(0, max(rows.n, 1), MOST)
        made = []
        for part, start in enumerate(starts, start=1):
            some = rows if rows.n <= MOST else rows.take(np.arange(start, min(start + MOST, rows.n)))
            sheet = self._headed(name if part == 1 else f"{name} {part}", fields, frozen, tab)
            if some.n:
                self._filled(sheet, fields, some, links, filters or {})
                self._dressed(sheet, fields, some.n, colours or {}, last_printed)
            else:
                sheet.write_string(1, 0, empty, self.look("faint"))
            made.append(sheet)
        return made

    def _headed(self, name: str, fields: Sequence[Field], frozen: int, tab: str) -> RowsSheet:
        sheet = self.sheet(name, tab=tab)
        for k, field in enumerate(fields):
            sheet.set_column(k, k, field.width)
        sheet.freeze_panes(1, frozen)
        sheet.repeat_rows(0)
        sheet.set_row(0, 32)
        for k, field in enumerate(fields):
            sheet.write_string(0, k, field.heading(self.units), self.look("typed_head" if field.look == "typed" else "head"))
        return sheet

    def _filled(self, sheet: RowsSheet, fields: Sequence[Field], rows: Table, links: Links | None, filters: Mapping[str, Sequence[str]]) -> None:
        linked = links.column if links else ""
        shown = {f.name: set(filters[f.heading(self.units)]) for f in fields if f.heading(self.units) in filters}
        targets = _targets(links, rows, [f.name for f in fields]) if links else ()
        sheet.pour(self._rows(fields, rows, linked, shown), targets, rows.n, len(fields) - 1)
        sheet.autofilter(0, 0, rows.n, len(fields) - 1)
        for k, field in enumerate(fields):
            if field.name in shown:
                sheet.filter_column_list(k, sorted(t or "Blanks" for t in shown[field.name]))

    def _rows(self, fields: Sequence[Field], rows: Table, linked: str, shown: Mapping[str, set[str]]) -> Iterator[str]:
        for start in range(0, rows.n, BATCH):
            some = slice(start, min(start + BATCH, rows.n))
            cells, lines, hidden = [], [], []
            for k, field in enumerate(fields):
                if field.name not in rows:
                    continue
                column = rows[field.name][some]
                if field.look in WORDS:
                    texts = plain_texts(column)
                    style = self.style("link" if field.name == linked else field.look)
                    cells.append(text_cells(texts, k, style, f'" s="{style}"/>' if field.look == "typed" else ""))
                    lines += [lines_of(texts, field.width)] if field.look in ("wrap", "typed") else []
                    hidden += [[t not in shown[field.name] for t in texts]] if field.name in shown else []
                else:
                    by = field.scale(self.units)
                    cells.append(number_cells(_rounded(column, by), k, self.style(field.format(self.units)), self.style("text")))
            yield from rows_xml(cells, [max(r) for r in zip(*lines, strict=True)], [any(r) for r in zip(*hidden, strict=True)], start + 2)

    def _dressed(self, sheet: RowsSheet, fields: Sequence[Field], rows: int, colours: Mapping[str, Mapping[str, str]], last_printed: str) -> None:
        names = [f.name for f in fields]
        for name, words in colours.items():
            for word, look in words.items():
                self.conditional(sheet, names.index(name), rows, {"type": "cell", "criteria": "==", "value": f'"{word}"'}, look)
        sheet.print_area(0, 0, rows, names.index(last_printed) if last_printed else len(names) - 1)

    def conditional(self, sheet: RowsSheet, column: int, rows: int, rule: dict[str, Any], look: str) -> None:
        sheet.conditional_format(1, column, rows, column, {**rule, "format": self.look(look)})

    def put(self, sheet: RowsSheet, row: int, column: int, value: Any, look: str, url: str = "") -> None:
        """One cell of a page; text by its own call, so that =1+1 or 00123 stay what they are."""
        if isinstance(value, str):
            text = clean(value)[:LONGEST]
            if url:
                sheet.write_url(row, column, url, self.look("link"), text)
            elif text:
                sheet.write_string(row, column, text, self.look(look if look in LOOKS else "text"))
        elif value is not None and not math.isnan(value):
            sheet.write_number(row, column, float(value), self.look(look))


def _targets(links: Links, rows: Table, names: Sequence[str]) -> Iterator[tuple[int, int, str, str]]:
    """Row, column, target and text of the links that a sheet can hold."""
    column = names.index(links.column)
    for k, text in enumerate(plain_texts(rows[links.column][:LINKS])):
        target = links.to(k) if text else ""
        if target:
            yield k + 1, column, target, text[:LONGEST]


def _rounded(column: Any, by: float) -> list[Any]:
    """Plain numbers, with as many digits as anybody reads."""
    if column.dtype.kind in "iu" and by == 1.0:
        return column.tolist()
    return (np.round(column.astype(float) * by, 6) + 0.0).tolist()
