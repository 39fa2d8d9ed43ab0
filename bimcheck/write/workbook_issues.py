"""issues.xlsx: what a coordinator runs a meeting from, and reading back what people typed into it."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

from xlsxwriter.exceptions import XlsxWriterException
from xlsxwriter.workbook import Workbook

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Tables
from bimcheck.write import workbook_issues_rows as content
from bimcheck.write.issue_rows import edge_rows
from bimcheck.write.rule_names import ISSUE_RULES
from bimcheck.write.workbook_issues_book import Book, Field
from bimcheck.write.workbook_issues_read import keep_foreign, read_typed, shown_only
from bimcheck.write.workbook_issues_summary import legend, summary

__all__ = ["IssueBook", "read_typed", "write_issues_workbook"]

OPTIONS = {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


class IssueBook(Protocol):
    """What the workbook is made of: tables (elements, panels, anchors, issues as reconciled) and the facts of the run."""

    @property
    def tables(self) -> Tables: ...

    @property
    def facts(self) -> Mapping[str, Any]: ...


def _of(name: str, scale: float = 1.0) -> Callable[[Any], Any]:
    """Cell of a row by its key; numbers scaled."""
    def cell(row: Mapping[str, Any]) -> Any:
        value = row.get(name, "")
        return value * scale if isinstance(value, float) else value
    return cell


ISSUE_FIELDS = (
    Field("Issue", 13, "text", _of("issue")), Field("Status", 14, "typed", _of("status")), Field("Assignee", 14, "typed", _of("assignee")),
    Field("Comment", 30, "typed", _of("comment")), Field("State", 10, "text", _of("state")), Field("Severity", 10, "text", _of("severity")),
    Field("Rule", 17, "text", _of("rule")), Field("Mark", 12, "text", _of("mark")), Field("Name", 22, "text", _of("name")),
    Field("Storey", 16, "text", _of("storey")), Field("Facade", 9, "text", _of("facade")), Field("What", 52, "wrap", _of("text")),
    Field("Measured", 11, "0.0##", _of("measured")), Field("Required", 11, "0.0##", _of("required")),
    Field("Shortfall", 11, "0.0##", _of("shortfall")), Field("Unit", 7, "text", _of("unit")), Field("Way out", 40, "wrap", _of("way_out")),
    Field("Note", 30, "wrap", _of("note")), Field("Group", 34, "text", _of("group")), Field("Other name", 22, "text", _of("other_name")),
    Field("Other class", 18, "text", _of("other_class")), Field("Other GUID", 25, "text", _of("other_guid")),
    Field("Other model", 20, "text", _of("other_model")), Field("GUID", 25, "text", _of("guid")), Field("Model", 20, "text", _of("model")),
    Field("Step id", 9, "text", _of("step_id")), Field("x, m", 11, "0.000", _of("x", 1e-3)), Field("y, m", 11, "0.000", _of("y", 1e-3)),
    Field("z, m", 11, "0.000", _of("z", 1e-3)),
)
FAMILY_FIELDS = tuple(f for f in ISSUE_FIELDS if f.look != "typed")
GROUP_FIELDS = (
    Field("Group", 46, "text", _of("group")), Field("Rule", 18, "text", _of("rule")), Field("Severity", 10, "text", _of("severity")),
    Field("Standing", 10, "0", _of("standing")), Field("Accepted", 10, "0", _of("accepted")), Field("Resolved", 10, "0", _of("resolved")),
    Field("Worst shortfall", 11, "0.0##", _of("worst")), Field("Unit", 7, "text", _of("unit")), Field("Facades", 24, "text", _of("facades")),
    Field("First of them", 52, "wrap", _of("text")), Field("Way out", 40, "wrap", _of("way_out")),
)
EDGE_FIELDS = (
    Field("Mark", 12, "text", _of("mark")), Field("Facade", 9, "text", _of("facade")), Field("Anchor", 9, "text", _of("anchor")),
    Field("Edge distance, mm", 11, "0.0", _of("edge_mm")), Field("Required, mm", 11, "0.0", _of("required_mm")),
    Field("by the item, mm", 11, "0.0", _of("item_mm")), Field("by the tests, mm", 11, "0.0", _of("tested_mm")),
    Field("Shortfall, mm", 11, "0.0", _of("shortfall_mm")), Field("Panel GUID", 25, "text", _of("panel_guid")),
    Field("Model", 20, "text", _of("model")), Field("Step id", 9, "text", _of("panel_step_id")),
)
PANEL_FIELDS = (
    Field("GUID", 25, "text", _of("guid")), Field("Mark", 12, "text", _of("mark")), Field("Name", 24, "text", _of("name")),
    Field("Storey", 16, "text", _of("storey")), Field("Facade", 9, "text", _of("facade")), Field("Place", 13, "text", _of("place")),
    Field("Material", 18, "text", _of("material")), Field("Width, mm", 10, "0.0", _of("width")), Field("Height, mm", 10, "0.0", _of("height")),
    Field("Thickness, mm", 10, "0.0", _of("thickness")), Field("Anchors", 9, "0", _of("n_anchors_selected")),
    Field("Pattern", 9, "text", _of("pattern_selected")), Field("Item", 14, "text", _of("item")), Field("Governing check", 22, "text", _of("governing_check")),
    Field("Utilisation", 11, "0.00", _of("utilisation")), Field("Result", 13, "text", _of("result")), Field("Standing issues", 10, "0", _of("issues")),
    Field("Reason", 40, "wrap", _of("reason")), Field("Way out", 40, "wrap", _of("way_out")), Field("Model", 20, "text", _of("model")),
)
NAMES = ("model", "guid", "mark", "name", "ifc_class", "storey", "facade")
WHY_FIELDS = (
    Field("GUID", 25, "text", _of("guid")), Field("Mark", 12, "text", _of("mark")), Field("Name", 26, "text", _of("name")),
    Field("Reason", 60, "wrap", _of("reason")), Field("Status", 14, "text", _of("status")), Field("Class", 18, "text", _of("ifc_class")),
    Field("Storey", 16, "text", _of("storey")), Field("Facade", 9, "text", _of("facade")), Field("Model", 20, "text", _of("model")),
)


def write_issues_workbook(path: Path, book: IssueBook) -> Path:
    """Write the workbook whole or not at all; what people added to the old one beyond the three columns is kept beside it.

    Raises InputError where the file is open elsewhere; the old workbook is untouched then.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        filters = shown_only(path)
        keep_foreign(path, SHEETS, [f.title for f in ISSUE_FIELDS])
        with Workbook(str(part), OPTIONS) as workbook:
            _fill(Book(workbook), book, filters)
        os.replace(part, path)
    except (OSError, XlsxWriterException) as problem:
        part.unlink(missing_ok=True)
        raise InputError(f"cannot be written: {problem}", str(path), "close the program that has it open") from problem
    return path


def _fill(book: Book, data: IssueBook, filters: Mapping[str, Sequence[str]]) -> None:
    rows = content.in_order(data.tables["issues"])
    checks = [r["name"] for r in data.facts.get("rules", []) if r["check"]]
    by_family = content.families(rows, checks)
    listed = content.records(data.tables["panels"])
    at = {(r["model"], r["guid"]): k for k, r in enumerate(listed, start=2)}
    summary(book, data, rows)
    _issues(book, "Issues", ISSUE_FIELDS, rows, at, frozen=4, tab="#D55E00", filters=filters)
    _groups(book, content.groups(rows))
    for name in ("Clash", "Joints", "Checks"):
        _issues(book, name, FAMILY_FIELDS, by_family[name], at)
    _issues(book, "Cut-outs and spacing", FAMILY_FIELDS, by_family["Edge distance"], at)
    _edges(book, data.tables)
    _panels(book, listed, rows)
    _rest(book, data, by_family["Input faults"], at)
    legend(book, ISSUE_RULES, data.facts)


def _issues(book: Book, name: str, fields: Sequence[Field], rows: Sequence[Any], at: Mapping[Any, int], *, frozen: int = 1, tab: str = "",
            filters: Mapping[str, Sequence[str]] | None = None) -> None:
    """A sheet of issues; the GUID leads to the panel's row."""
    titles = [f.title for f in fields]

    def link(row: Any) -> str:
        found = at.get((row["model"], row["guid"]))
        return f"internal:'Panels'!A{found}" if found else ""

    sheet = book.table(name, fields, rows, frozen=frozen, tab=tab, links=(titles.index("GUID"), link), empty="no issue",
                       filters=filters)
    sheet.print_area(0, 0, max(len(rows), 1), titles.index("Way out"))
    book.colour(sheet, titles.index("Severity"), len(rows), {"error": "error", "warning": "warning"})
    book.colour(sheet, titles.index("State"), len(rows), {"resolved": "good", "accepted": "faint"})


def _groups(book: Book, rows: Sequence[Any]) -> None:
    sheet = book.table("Groups", GROUP_FIELDS, rows, links=(0, lambda r: f"internal:'Issues'!A{r['at'] + 1}"), empty="no issue")
    book.colour(sheet, 2, len(rows), {"error": "error", "warning": "warning"})


def _edges(book: Book, tables: Tables) -> None:
    rows = edge_rows(tables)
    sheet = book.table("Edge distance", EDGE_FIELDS, rows, empty="no anchors")
    if rows:
        sheet.conditional_format(1, 7, len(rows), 7, {"type": "cell", "criteria": ">", "value": 0, "format": book.look("error")})


def _panels(book: Book, panels: Sequence[dict[str, Any]], rows: Sequence[Any]) -> None:
    standing: dict[Any, int] = {}
    for r in rows:
        if r["state"] in content.STANDING:
            for key in {(r["model"], r["guid"]), (r["other_model"], r["other_guid"])}:
                standing[key] = standing.get(key, 0) + 1
    listed = [{**p, "issues": standing.get((p["model"], p["guid"]), 0)} for p in panels]
    sheet = book.table("Panels", PANEL_FIELDS, listed, empty="no panels")
    titles = [f.title for f in PANEL_FIELDS]
    book.utilisation(sheet, titles.index("Utilisation"), len(listed))
    book.colour(sheet, titles.index("Result"), len(listed), {"fail": "error", "not_checked": "warning", "pass": "good"})


def _rest(book: Book, data: IssueBook, faults: Sequence[Any], at: Mapping[Any, int]) -> None:
    sums = [dict(zip(("item", "storey", "facade", "panels", "anchors"), r, strict=True)) for r in content.quantities(data.tables)]
    fields = [Field(k.capitalize(), 18, "text", _of(k)) for k in ("item", "storey", "facade")]
    book.table("Quantities", [*fields, Field("Panels", 10, "0", _of("panels")), Field("Anchors", 10, "0", _of("anchors"))], sums, empty="no anchors")
    plain = tuple(f for f in WHY_FIELDS if f.title not in ("Status", "Class"))
    book.table("Not checked", plain, content.not_checked(data.tables), empty="every panel is checked")
    others = [r for r in content.records(data.tables["elements"], (*NAMES, "status", "reason")) if r["status"] != "panel"]
    book.table("Out of scope, unreadable", WHY_FIELDS, others, empty="every element considered is a panel")
    _issues(book, "Input faults", FAMILY_FIELDS, faults, at)
    fields = [Field(t, w, "wrap", lambda r, k=k: r[k]) for k, (t, w) in enumerate((("Setting", 36), ("Value", 44), ("Why it stands here", 80)))]
    book.table("Assumptions", fields, content.assumptions(data.facts), empty="no setting was read")


SHEETS = ("Summary", "Issues", "Groups", "Clash", "Joints", "Checks", "Cut-outs and spacing", "Edge distance", "Panels", "Quantities",
          "Not checked", "Out of scope, unreadable", "Input faults", "Assumptions", "Legend")
