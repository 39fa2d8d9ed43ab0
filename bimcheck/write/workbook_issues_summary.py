"""First and last sheet of the issue workbook: what matters on a page, and what the words mean."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from io import BytesIO
from typing import Any

from xlsxwriter.worksheet import Worksheet

from bimcheck.core.tables import Table, Tables
from bimcheck.write import workbook_issues_rows as content
from bimcheck.write.issue_pictures import pictures
from bimcheck.write.workbook_issues_book import Book
from bimcheck.write.workbook_issues_cells import LINE, lines_of
from bimcheck.write.workbook_issues_text import CAUTIONS, COLUMNS, NOT_CHECKED_HERE, STATES

HEADS = ("errors", "warnings", "infos", "accepted", "resolved")


class Page:
    """A sheet that is filled from above."""

    def __init__(self, book: Book, name: str, widths: Sequence[float], pages: bool = True) -> None:
        self.book, self.sheet, self.row, self.widths = book, book.sheet(name, fit=pages), 0, widths
        self.sheet.hide_gridlines(2)
        for k, width in enumerate(widths):
            self.sheet.set_column(k, k, width)

    def line(self, *cells: Any, look: str = "text", link: str = "") -> None:
        if look in ("wrap", "caution"):
            lines = [lines_of([c], w)[0] for c, w in zip(cells, self.widths, strict=False) if isinstance(c, str) and c]
            self.sheet.set_row(self.row, LINE * max(lines, default=1) + 2)
        for k, value in enumerate(cells):
            self.book.put(self.sheet, self.row, k, value, look if isinstance(value, str) else "0.###", link if k == 0 else "")
        self.row += 1

    def blank(self, rows: int) -> None:
        """Rows of a stated height: a picture over them keeps its shape in every program."""
        for _ in range(rows):
            self.sheet.set_row(self.row, 15)
            self.row += 1

    def heading(self, text: str, *heads: str) -> None:
        self.row += 1
        self.book.put(self.sheet, self.row, 0, text, "heading")
        for k, head in enumerate(heads, start=1):
            self.book.put(self.sheet, self.row, k, head, "head")
        self.row += 1

    def note(self, text: str, look: str = "wrap") -> None:
        self.line(text, look=look)


def summary(book: Book, data: Any, rows: Table) -> None:
    page = Page(book, "Summary", [64, *[13] * 30])
    page.line("Issues of the facade panels", look="title")
    page.note(CAUTIONS[0], "caution")
    _facts(page, data)
    page.line("elevations with the issues marked", link="internal:'Elevations'!A1")
    page.heading("Issues since the last run", "number")
    for words in content.standings(rows):
        page.line(*words)
    page.heading("Standing issues by rule", *HEADS)
    _counts(page, content.counts(rows, "rule"))
    page.heading("by facade", *HEADS)
    _counts(page, content.counts(rows, "facade"))
    page.heading("by storey", *HEADS)
    _counts(page, content.counts(rows, "storey"))
    _heat(page, rows, data.tables["elements"])
    page.heading("Why panels are not checked", "panels")
    for why, number in content.why_not(data.tables["panels"]):
        page.line(why, number)


def _facts(page: Page, data: Any) -> None:
    facts, panels = data.facts, data.tables["panels"]
    page.heading("The run")
    page.line("bimcheck", str(facts.get("version", "")))
    for model in facts.get("models", []):
        page.line("model", str(model.get("name", model) if isinstance(model, Mapping) else model))
    if facts.get("only"):
        page.line("only the elements of this query", str(facts["only"]))
    results = panels["result"].tolist() if "result" in panels else []
    page.heading("Panels", "number")
    page.line("all", panels.n, link="internal:'Panels'!A1")
    for result in ("pass", "fail", "not_checked"):
        page.line(result, results.count(result))


def _counts(page: Page, rows: Iterable[tuple[Any, ...]]) -> None:
    listed = list(rows)
    for row in listed:
        page.line(*row)
    if not listed:
        page.line("none")


def _heat(page: Page, rows: Table, elements: Any) -> None:
    """The building unrolled: a row a storey, a column a facade, the number of standing errors and warnings in the cell."""
    storeys, facades, cells = content.heat(rows, elements)
    page.heading("Errors and warnings, storey by facade", *(f or "(none)" for f in facades))
    first = page.row
    for storey in storeys:
        page.line(storey or "(none)", *(cells.get((storey, f), 0) for f in facades))
    if storeys and facades:
        page.sheet.conditional_format(first, 1, page.row - 1, len(facades), {
            "type": "2_color_scale", "min_type": "num", "min_value": 0, "max_type": "max", "min_color": "#FFFFFF", "max_color": "#E69F00"})


def elevations(book: Book, tables: Tables, rows: Table) -> None:
    """One picture a facade that has standing issues, a page each."""
    drawn, left_out = pictures(tables, rows, book.units)
    page = Page(book, "Elevations", [20, *[13] * 12], pages=False)
    page.line("Elevations with the issues marked", look="title")
    if not drawn:
        page.line("no issue that stands has a place on a facade", look="faint")
    if left_out:
        page.line(f"The first {len(drawn)} facades by number of errors; left out: {', '.join(left_out)}", look="faint")
    breaks = []
    for picture in drawn:
        page.row += 1
        breaks.append(page.row)
        where = {"image_data": BytesIO(picture.png), "x_scale": 0.5, "y_scale": 0.5, "object_position": 2, "description": picture.says}
        page.sheet.insert_image(page.row, 0, f"{picture.facade}.png", where)
        page.blank(math.ceil(0.5 * picture.height / 20) + 1)
    page.sheet.set_h_pagebreaks(breaks[1:])


def legend(book: Book, rules: Mapping[str, str], facts: Mapping[str, Any]) -> Worksheet:
    page = Page(book, "Legend", [34, 120])
    page.line("What the words mean", look="title")
    page.heading("Cautions")
    for text in CAUTIONS:
        page.line("", text, look="caution")
    page.heading("Not checked by this tool")
    for text in NOT_CHECKED_HERE:
        page.line("", text)
    page.heading("Columns")
    for pair in COLUMNS.items():
        page.line(*pair, look="wrap")
    page.heading("States")
    for pair in STATES.items():
        page.line(*pair, look="wrap")
    page.heading("Rules")
    known = dict(rules) | {r["name"]: f"{r['summary']} {r['formula']} ({r['clause']})" for r in facts.get("rules", []) if r["check"]}
    for pair in sorted(known.items()):
        page.line(*pair, look="wrap")
    return page.sheet
