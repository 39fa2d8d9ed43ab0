"""issues.xlsx: what a coordinator runs a meeting from, and reading back what people typed into it."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Protocol

from xlsxwriter.exceptions import XlsxWriterException
from xlsxwriter.workbook import Workbook

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table, Tables
from bimcheck.write import workbook_issues_book
from bimcheck.write import workbook_issues_fields as fields
from bimcheck.write import workbook_issues_rows as content
from bimcheck.write.edge_list import edge_list
from bimcheck.write.rule_names import ISSUE_RULES
from bimcheck.write.workbook_issues_book import Book, Field, Links
from bimcheck.write.workbook_issues_lock import refuse_open
from bimcheck.write.workbook_issues_read import keep_foreign, read_typed, shown_only
from bimcheck.write.workbook_issues_summary import elevations, legend, summary

__all__ = ["IssueBook", "read_typed", "write_issues_workbook"]

OPTIONS = {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
SHEETS = ("Summary", "Elevations", "Issues", "Groups", "Group members", "Clash", "Joints", "Checks", "Cut-outs and spacing", "Edge distance", "Panels",
          "Quantities", "Not checked", "Out of scope, unreadable", "Input faults", "Assumptions", "Legend")
STATUSES = ("ask", "in work", "done", "accepted")  # offered; any other text is as good
SEVERITY = {"severity": {"error": "error", "warning": "warning"}}
COLOURS = {**SEVERITY, "state": {"resolved": "good", "accepted": "faint"}}


class IssueBook(Protocol):
    """What the workbook is made of: tables (elements, panels, anchors, issues as reconciled) and the facts of the run."""

    @property
    def tables(self) -> Tables: ...

    @property
    def facts(self) -> Mapping[str, Any]: ...


def write_issues_workbook(path: Path, book: IssueBook) -> Path:
    """Write the workbook whole or not at all; what people added to the old one beyond the three columns is kept beside it.

    Raises InputError where the file is open elsewhere; the old workbook is untouched then.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        refuse_open(path)
        filters = shown_only(path)
        keep_foreign(path, SHEETS, [f.heading(u) for f in fields.ISSUES for u in ("si", "us")])
        with Workbook(str(part), OPTIONS) as workbook:
            _fill(Book(workbook, str(book.facts.get("units", "si"))), book, filters)
        os.replace(part, path)
    except (OSError, XlsxWriterException) as problem:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise InputError(f"cannot be written: {problem}", str(path), "close the program that has it open") from problem
    return path


def _fill(book: Book, data: IssueBook, filters: Mapping[str, Sequence[str]]) -> None:
    rows = content.in_order(data.tables["issues"], book.units)
    by_family = content.families(rows)
    panels = content.listed_panels(data.tables["panels"], rows, book.units)
    to_panel = _to_panels(panels)
    summary(book, data, rows)
    elevations(book, data.tables, rows)
    _issues(book, "Issues", fields.ISSUES, rows, to_panel, frozen=4, tab="#D55E00", filters=filters)
    _groups(book, rows)
    for name in ("Clash", "Joints", "Checks"):
        _issues(book, name, fields.FAMILY, by_family[name], to_panel)
    _issues(book, "Cut-outs and spacing", fields.FAMILY, by_family["Edge distance"], to_panel)
    _edges(book, data.tables)
    _panels(book, panels)
    book.table("Quantities", fields.QUANTITIES, content.quantities(data.tables), empty="no anchors")
    book.table("Not checked", fields.NOT_CHECKED, content.not_checked(panels), empty="every panel is checked")
    elements = data.tables["elements"]
    book.table("Out of scope, unreadable", fields.OTHERS, elements.take(elements["status"] != "panel"), empty="every element considered is a panel")
    _issues(book, "Input faults", fields.FAMILY, by_family["Input faults"], to_panel)
    book.table("Assumptions", fields.ASSUMPTIONS, content.assumptions(data.facts), empty="no setting was read")
    legend(book, ISSUE_RULES, data.facts)


def _to_panels(panels: Table) -> dict[tuple[str, str], int]:
    """Row of each panel in its sheet, by model and GlobalId."""
    return {key: k for k, key in enumerate(zip(panels["model"].tolist(), panels["guid"].tolist(), strict=True), start=2)}


def _issues(book: Book, name: str, columns: Sequence[Field], rows: Table, at: Mapping[Any, int], *, frozen: int = 1, tab: str = "",
            filters: Mapping[str, Sequence[str]] | None = None) -> None:
    """A sheet of issues; the GUID leads to the panel's row."""
    columns = _with_grid(columns, rows)
    found = [at.get(key) for key in zip(rows["model"].tolist(), rows["guid"].tolist(), strict=True)]
    links = Links("guid", lambda k: f"internal:'Panels'!A{found[k]}" if found[k] else "")
    sheets = book.table(name, columns, rows, frozen=frozen, tab=tab, links=links, empty="no issue", filters=filters, colours=COLOURS,
                        last_printed="way_out")
    at_status = [k for k, f in enumerate(columns) if f.name == "status"]
    for sheet in sheets if at_status and rows.n else ():
        sheet.data_validation(1, at_status[0], min(rows.n, workbook_issues_book.MOST), at_status[0],
                              {"validate": "list", "source": list(STATUSES), "show_error": False})


def _with_grid(columns: Sequence[Field], rows: Table) -> Sequence[Field]:
    """The columns; without that of the grid where the models have none."""
    return columns if any(rows["grid"].tolist()) else [f for f in columns if f.name != "grid"]


def _groups(book: Book, rows: Table) -> None:
    """One row a matter, and all its members on the next sheet."""
    made = content.groups(rows)
    to = (made["first"] + 2).tolist()
    book.table("Groups", fields.GROUPS, made, frozen=2, links=Links("group", lambda k: f"internal:'Group members'!A{to[k]}"), empty="no issue",
               tab="#D55E00", colours=SEVERITY)
    book.table("Group members", _with_grid(fields.MEMBERS, rows), content.members(rows), empty="no issue", colours=COLOURS, last_printed="other_name")


def _edges(book: Book, tables: Tables) -> None:
    rows = edge_list(tables)
    for sheet in book.table("Edge distance", fields.EDGES, rows, empty="no anchors"):
        if rows.n:
            at = [f.name for f in fields.EDGES].index("shortfall_mm")
            book.conditional(sheet, at, rows.n, {"type": "cell", "criteria": ">", "value": 0}, "error")


def _panels(book: Book, panels: Table) -> None:
    colours = {"result": {"fail": "error", "not_checked": "warning", "pass": "good"}}
    at = [f.name for f in fields.PANELS].index("utilisation")
    for sheet in book.table("Panels", fields.PANELS, panels, empty="no panels", colours=colours, last_printed="standing"):
        for least, look in ((1.0, "error"), (0.9, "warning")) if panels.n else ():
            book.conditional(sheet, at, panels.n, {"type": "cell", "criteria": ">", "value": least, "stop_if_true": True}, look)
