"""The issue workbook and the plain lists: what goes in comes out.  Expected values are what the test itself puts in."""

from __future__ import annotations

import csv
import json
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from openpyxl import load_workbook

from bimcheck.core.errors import InputError
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Ragged, Table
from bimcheck.reconcile.scope import NO_PART, NOT_SELECTED, WHOLE_DECIDES
from bimcheck.reconcile.states import reconcile
from bimcheck.write import workbook_issues_book
from bimcheck.write import workbook_issues_rows as content
from bimcheck.write.edge_list import edge_list
from bimcheck.write.issue_rows import ISSUE_COLUMNS, issue_records, write_issues_csv, write_issues_jsonl
from bimcheck.write.junit import junit_text
from bimcheck.write.rule_names import ISSUE_RULES
from bimcheck.write.workbook_issues import SHEETS, read_typed, write_issues_workbook
from bimcheck.write.workbook_issues_read import _fast, _opened, _slow, shown_only
from tests.reconcile.made import GUIDS, elements, joint, table

ODD = ("=1+1", "@x", "+cmd|' /C calc'!A0")


@dataclass
class Made:
    tables: dict[str, Table]
    facts: dict[str, Any] = field(default_factory=dict)


def made(issues: Table, whole: Table) -> Made:
    panels = whole.with_columns(
        element=np.arange(whole.n), result=np.full(whole.n, "fail", dtype=object), utilisation=np.linspace(0.5, 1.5, whole.n),
        item=np.full(whole.n, "demo", dtype=object), edge_min_item=np.full(whole.n, 40.0), edge_tested=np.full(whole.n, 50.0))
    candidates = Table("candidates", 2, {"panel": np.array([0, 1])})
    anchors = Table("anchors", 4, {"candidate": np.array([0, 0, 1, 1]), "slot": np.array([1, 2, 1, 2]), "edge": np.array([60.0, 45.0, 70.0, 50.0])})
    rules = [{"name": "edge-distance", "check": True, "summary": "s", "formula": "f", "clause": "c", "settings": {"layout.edge_mm": 50.0}}]
    return Made({"elements": whole, "panels": Table("panels", panels.n, panels.columns), "candidates": candidates, "anchors": anchors, "issues": issues},
                {"version": "0", "models": [{"name": "a.ifc"}], "assumed": ["wind.v_b0_m_s"], "rules": rules})


def two() -> Made:
    whole = elements(ODD)
    return made(reconcile(table(joint(0, 1, 2.0), joint(1, 2, 3.0)), whole), whole)


def values(path: Path, sheet: str) -> list[dict[str, Any]]:
    lines = list(load_workbook(path)[sheet].iter_rows(values_only=True))
    return [dict(zip(lines[0], line, strict=True)) for line in lines[1:]]


def test_names_that_look_like_formulas_stay_text(tmp_path: Path) -> None:
    path = write_issues_workbook(tmp_path / "issues.xlsx", two())
    book = load_workbook(path)
    assert tuple(book.sheetnames) == SHEETS
    sheet = book["Panels"]
    cells = [c for row in sheet.iter_rows(min_row=2) for c in row if c.value in ODD]
    assert len(cells) == 3 and {c.data_type for c in cells} == {"s"}
    assert [r["Mark"] for r in values(path, "Panels")] == ["000", "001", "002"]
    assert sheet.freeze_panes == "B2" and sheet.auto_filter.ref is not None


def test_numbers_are_numbers_and_sheets_hold_what_was_found(tmp_path: Path) -> None:
    path = write_issues_workbook(tmp_path / "issues.xlsx", two())
    assert sorted(r["Measured"] for r in values(path, "Issues")) == [2.0, 3.0] == sorted(r["Measured"] for r in values(path, "Joints"))
    assert [(r["Group"], r["Standing"], r["Worst shortfall"]) for r in values(path, "Groups")] == [("joint-width: upright joint", 2, 3.0)]
    # Worst first: A2 of the first panel lacks 5 mm of the 50 mm tested, A2 of the second has just 50 mm.
    assert [(r["Anchor"], r["Shortfall, mm"]) for r in values(path, "Edge distance")] == [("A2", 5.0), ("A2", 0.0), (None, None)]
    assert [r["Anchors"] for r in values(path, "Quantities")] == [4]
    assert values(path, "Assumptions")[0]["Setting"] == "wind.v_b0_m_s"


def test_every_reader_sees_every_row_and_links_lead_somewhere(tmp_path: Path) -> None:
    path = write_issues_workbook(tmp_path / "issues.xlsx", two())
    assert read_typed(path)["issue"].tolist() == [r["Issue"] for r in values(path, "Issues")] and read_typed(path).n == 2
    book = load_workbook(path)
    titles = [c.value for c in book["Issues"][1]]
    links = {c.value: c.hyperlink.location for c in [r[titles.index("GUID")] for r in book["Issues"].iter_rows(min_row=2)]}
    guids = {r["GUID"]: f"'Panels'!A{k}" for k, r in enumerate(values(path, "Panels"), start=2)}
    assert links and all(guids[g] == to for g, to in links.items())
    assert book["Groups"]["B2"].hyperlink.location == "'Group members'!A2"
    assert [sum(c.hyperlink is not None for r in book[s] for c in r) for s in ("Issues", "Joints", "Groups")] == [2, 2, 1]


def test_the_summary_says_what_became_of_the_issues() -> None:
    """One new, one still there, one back after it was resolved, one gone, one of a model that takes no part."""
    whole = elements(ODD)
    first = reconcile(table(joint(0, 1, 2.0), joint(1, 2, 3.0), joint(0, 2, 1.0), Issue("file-apart", "error", "far", model="b.ifc")), whole)
    second = reconcile(table(joint(0, 1, 2.0), joint(0, 2, 1.0)), whole, first)
    third = reconcile(table(joint(0, 1, 2.0), joint(1, 2, 3.0), joint(0, 1, 2.0, key="new")), whole, second)
    assert dict(content.standings(content.in_order(third))) == {
        "new": 1, "open": 1, "reopened": 1, "accepted": 0, "resolved": 1, "not looked at, as they were": 1}
    assert set(content.NOT_LOOKED_AT) == {NO_PART, NOT_SELECTED, WHOLE_DECIDES}


def test_long_comments_stay_whole_and_statuses_are_offered(tmp_path: Path) -> None:
    """A cell holds 32,767 characters (Excel specifications and limits)."""
    path = write_issues_workbook(tmp_path / "issues.xlsx", two())
    long = "x" * 32_767
    _type_into(path, {2: ("", "", long)})
    names = elements(ODD)
    write_issues_workbook(path, made(reconcile(table(joint(0, 1, 2.0), joint(1, 2, 3.0)), names, None, read_typed(path)), names))
    assert long in read_typed(path)["comment"].tolist()
    (offered,) = load_workbook(path)["Issues"].data_validations.dataValidation
    assert str(offered.sqref) == "B2:B3" and "accepted" in offered.formula1 and not offered.showErrorMessage


def test_every_rule_has_a_family() -> None:
    """Rules of clash, joints, edges and reading are told by name; the rest are checks and their limits."""
    named = {*content.CLASH, *content.JOINTS, *content.EDGES, *content.INPUT}
    assert named - ISSUE_RULES.keys() <= {"edge-distance", "anchor-spacing"}  # checks, named by their rule
    rows = reconcile(table(*(Issue(r, "error", "t", key=r) for r in ISSUE_RULES)), elements())
    assert sum(t.n for t in content.families(rows).values()) == len(ISSUE_RULES)


def test_same_content_same_bytes(tmp_path: Path) -> None:
    a, b = (write_issues_workbook(tmp_path / f"{k}.xlsx", two()) for k in "ab")
    assert a.read_bytes() == b.read_bytes()


def test_what_people_type_survives_three_reruns(tmp_path: Path) -> None:
    path, names = tmp_path / "issues.xlsx", elements()
    runs = [[joint(0, 1, 2.0), joint(1, 2, 3.0)], [joint(0, 1, 2.5), joint(1, 2, 3.0)], [joint(1, 2, 3.0)], [joint(1, 2, 3.0), joint(0, 2, 1.0)]]
    issues = reconcile(table(*runs[0]), names)
    write_issues_workbook(path, made(issues, names))
    _type_into(path, {2: ("accepted", "A. Body", "as agreed"), 3: ("ask", "00123", "=2*3")})
    at = {r["Issue"]: (r["Status"], r["Assignee"], r["Comment"]) for r in values(path, "Issues")}
    for run in runs[1:]:
        issues = reconcile(table(*run), names, issues, read_typed(path))
        write_issues_workbook(path, made(issues, names))
        now = {r["Issue"]: (r["Status"], r["Assignee"], r["Comment"]) for r in values(path, "Issues")}
        assert {k: now[k] for k in at} == at
    state = dict(zip(issues["issue"].tolist(), issues["state"].tolist(), strict=True))
    assert sorted(state.values()) == sorted(["resolved", "new", "open"] if "accepted" not in state.values() else ["resolved", "new", "accepted"])


def _type_into(path: Path, lines: dict[int, tuple[str, str, str]]) -> None:
    """As a person would: by the headings, sorted the other way round, saved by another program."""
    book = load_workbook(path)
    sheet = book["Issues"]
    at = {c.value: c.column for c in sheet[1]}
    for row, texts in lines.items():
        for title, text in zip(("Status", "Assignee", "Comment"), texts, strict=True):
            cell = sheet.cell(row, at[title], text)
            cell.data_type = "s"
    book.save(path)


def test_a_filter_survives_a_rerun(tmp_path: Path) -> None:
    path, names = tmp_path / "issues.xlsx", elements()
    issues = reconcile(table(joint(0, 1, 2.0), joint(1, 2, 3.0)), names)
    write_issues_workbook(path, made(issues, names))
    book = load_workbook(path)
    sheet = book["Issues"]
    column = [c.value for c in sheet[1]].index("Mark")
    sheet.auto_filter.add_filter_column(column, ["001"])
    book.save(path)
    write_issues_workbook(path, made(reconcile(table(joint(0, 1, 2.0), joint(1, 2, 3.0)), names, issues, read_typed(path)), names))
    sheet = load_workbook(path)["Issues"]
    (kept,) = sheet.auto_filter.filterColumn
    assert (kept.colId, list(kept.filters.filter)) == (column, ["001"])
    hidden = {sheet.cell(r, column + 1).value: bool(sheet.row_dimensions[r].hidden) for r in (2, 3)}
    assert hidden == {"000": True, "001": False}


def test_broken_open_or_foreign_workbooks_are_refused_and_left_alone(tmp_path: Path) -> None:
    good = write_issues_workbook(tmp_path / "issues.xlsx", two()).read_bytes()
    path = tmp_path / "broken.xlsx"
    for data in (b"", b"PK\x03\x04 nothing", good[: len(good) // 2]):
        path.write_bytes(data)
        with pytest.raises(InputError) as told:
            read_typed(path)
        assert "\n" not in str(told.value) and path.read_bytes() == data
        with pytest.raises(InputError):
            write_issues_workbook(path, two())
        assert path.read_bytes() == data
    book = load_workbook(tmp_path / "issues.xlsx")
    book["Issues"]["B1"] = "Stand"
    book.save(path)
    with pytest.raises(InputError, match="no column 'Status'"):
        read_typed(path)
    (tmp_path / ".~lock.issues.xlsx#").touch()
    with pytest.raises(InputError, match="open in another program"):
        read_typed(tmp_path / "issues.xlsx")


def test_damage_anywhere_is_one_line(tmp_path: Path) -> None:
    """Bytes overwritten at places all over the file: read as before, or refused."""
    good = write_issues_workbook(tmp_path / "issues.xlsx", two()).read_bytes()
    path = tmp_path / "damaged.xlsx"
    for at in np.linspace(0, len(good) - 20, 150).astype(int).tolist():
        path.write_bytes(good[:at] + b"\xff\x00damaged\x13\x37" + good[at + 12:])
        try:
            assert set(read_typed(path)) == {"issue", "status", "assignee", "comment"}
            shown_only(path)
        except InputError as problem:
            assert "\n" not in str(problem)


def test_a_row_that_was_copied_with_other_texts_is_refused(tmp_path: Path) -> None:
    path = write_issues_workbook(tmp_path / "issues.xlsx", two())
    book = load_workbook(path)
    book["Issues"].append([book["Issues"]["A2"].value, "", "", ""])
    book.save(path)
    assert read_typed(path).n == 3
    book["Issues"].append([book["Issues"]["A2"].value, "", "", "other"])
    book.save(path)
    with pytest.raises(InputError, match="stands twice"):
        read_typed(path)


def test_both_ways_of_reading_agree(tmp_path: Path) -> None:
    """Plainly written sheets are read the fast way, others cell by cell; what people type comes out alike."""
    path = write_issues_workbook(tmp_path / "issues.xlsx", two())
    texts = (" two\nlines & <more> ", "_x0041_ 'quoted' \"twice\"", "Größe Ω")
    _type_into(path, {2: texts, 3: ("", "00123", "=2*3")})
    with _opened(path) as book:
        fast, slow = _fast(path, book["Issues"]), _slow(path, book["Issues"])
    assert fast == slow and tuple(fast[0][k] for k in ("status", "assignee", "comment"))[2] == "Größe Ω"
    names = elements(ODD)
    found = table(joint(0, 1, 2.0), joint(1, 2, 3.0))
    for _ in range(3):  # our own writing and reading, again and again, changes nothing
        typed = read_typed(path)
        write_issues_workbook(path, made(reconcile(found, names, None, typed), names))
        assert sorted(read_typed(path)["comment"].tolist()) == sorted(typed["comment"].tolist())
    book = load_workbook(path)
    book["Issues"]["D2"] = 12.5  # a number: left to the slow way
    book.save(path)
    with _opened(path) as book:
        assert _fast(path, book["Issues"]) == []
    assert "12.5" in read_typed(path)["comment"].tolist()


def test_what_one_sheet_cannot_hold_goes_on_in_the_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook_issues_book, "MOST", 1)
    path = write_issues_workbook(tmp_path / "issues.xlsx", two())
    book = load_workbook(path)
    assert {"Issues", "Issues 2", "Panels 3"} <= set(book.sheetnames) and "Issues 3" not in book.sheetnames
    assert read_typed(path).n == 2
    write_issues_workbook(path, two())
    assert not list(tmp_path.glob("*kept*"))


def test_rows_without_an_id_are_not_lost_and_foreign_sheets_are_kept_beside(tmp_path: Path) -> None:
    path = write_issues_workbook(tmp_path / "issues.xlsx", two())
    book = load_workbook(path)
    book.create_sheet("Minutes")["A1"] = "agreed"
    book.save(path)
    write_issues_workbook(path, two())
    assert load_workbook(tmp_path / "issues.kept-1.xlsx")["Minutes"]["A1"].value == "agreed"
    write_issues_workbook(path, two())
    assert not (tmp_path / "issues.kept-2.xlsx").exists()
    book = load_workbook(path)
    book["Issues"].cell(9, 4, "a thought")
    book.save(path)
    with pytest.raises(InputError, match="row 9"):
        read_typed(path)
    book["Issues"].cell(9, 4).value = None
    book["Issues"].cell(11, 1, "Total: 2")
    book.save(path)
    with pytest.raises(InputError, match="row 11"):
        read_typed(path)


def test_an_empty_run_has_a_workbook_that_can_be_read_back(tmp_path: Path) -> None:
    whole = elements(())
    path = write_issues_workbook(tmp_path / "issues.xlsx", made_empty(whole))
    assert read_typed(path).n == 0


def made_empty(whole: Table) -> Made:
    return Made({"elements": whole, "panels": Table("panels", 0, dict(whole.columns)), "anchors": Table("anchors", 0, {}),
                 "issues": reconcile(table(), whole)})


def test_csv_lines_and_junit(tmp_path: Path) -> None:
    data = two()
    text = write_issues_csv(tmp_path / "issues.csv", data.tables["issues"]).read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert tuple(rows[0]) == ISSUE_COLUMNS and rows[0]["guid"] == GUIDS[0] and rows[0]["x_m"] == "" and rows[0]["shortfall"] == "3.0"
    lines = write_issues_jsonl(tmp_path / "issues.jsonl", data.tables["issues"]).read_text(encoding="utf-8").splitlines()
    assert json.loads(lines[0])["measured"] == 2.0 and json.loads(lines[0])["x_m"] is None


COUNTS = ("tests", "failures", "errors", "skipped")


def test_junit_is_what_readers_agree_on(tmp_path: Path) -> None:
    """Structure: testsuites > testsuite (name, tests, failures, errors, skipped, time) > testcase (classname, name, time) with at
    most one failure (type, message) or skipped; sums agree.  From memory of the readers in use, there is no schema of record."""
    whole = elements(ODD)
    before = reconcile(table(joint(0, 1, 2.0), joint(1, 2, 3.0)), whole)
    issues = reconcile(table(joint(0, 1, 2.0), Issue("a-warning", "warning", "w \x00 <&", panel=2, measured=1.5, required=2.0, unit="mm")), whole, before)
    root = ET.fromstring(junit_text(issue_records(issues), passed=["panel-overlap"], unchecked={"curved": 2}))
    assert root.tag == "testsuites" and {c.tag for c in root} == {"testsuite"}
    by_name = {s.get("name"): tuple(s.get(k) for k in COUNTS) for s in root}
    assert by_name == {"joint-width": ("2", "1", "0", "0"), "a-warning": ("1", "0", "0", "1"), "panel-overlap": ("1", "0", "0", "0"),
                       "not-checked": ("1", "1", "0", "0")}
    assert [root.get(k) for k in COUNTS] == ["5", "2", "0", "1"]
    for suite in root:
        cases = list(suite)
        assert {c.tag for c in cases} == {"testcase"} and all(c.get("name") and c.get("classname") and c.get("time") == "0" for c in cases)
        assert suite.get("failures") == str(sum(c.find("failure") is not None for c in cases)) and all(len(c) <= 1 for c in cases)
        assert all(e.get("message") and e.get("type") for e in suite.iter("failure"))
    warned = ET.fromstring(junit_text(issue_records(issues), "warning"))
    assert warned.get("failures") == "2"


def plain(rows: Iterable[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """None for nan."""
    return [tuple(None if v != v else v for v in row) for row in rows]  # noqa: PLR0124


def test_edge_list_takes_the_worst_of_item_and_tests() -> None:
    rows = edge_list(two().tables)
    assert plain(zip(*(rows[k].tolist() for k in ("panel_guid", "anchor", "edge_mm", "required_mm", "shortfall_mm")), strict=True)) == \
        [(GUIDS[0], "A2", 45.0, 50.0, 5.0), (GUIDS[1], "A2", 50.0, 50.0, 0.0), (GUIDS[2], "", None, None, None)]


def test_edge_list_tells_outline_from_cut_out() -> None:
    """A panel of 1000 x 800 with a cut-out from (400, 300) to (600, 500): from (350, 400) the cut-out is 50 away, the outline 350;
    from (60, 400) the outline is 60 away."""
    data = two()
    square = np.array([[0.0, 0, 0], [1000, 0, 0], [1000, 800, 0], [0, 800, 0], [400, 300, 1], [400, 500, 1], [600, 500, 1], [600, 300, 1]])
    tables = {**data.tables, "panels": data.tables["panels"].with_columns(outline=Ragged.of([square] * 3)),
              "anchors": data.tables["anchors"].with_columns(edge=np.array([50.0, 60.0, 70.0, 60.0]), x=np.array([350.0, 60.0, 330.0, 60.0]), y=np.full(4, 400.0))}
    assert edge_list(tables)["to"].tolist() == ["cut-out", "outline", "no anchors"]


def test_many_issues_stay_within_the_limits(tmp_path: Path) -> None:
    """100,000 within 60 s is the goal (benchmark); a tenth of it here."""
    whole = elements()
    issues = reconcile(table(*(joint(0, 1, 2.0, key=str(k)) for k in range(10_000))), whole)
    start = time.process_time()
    write_issues_workbook(tmp_path / "issues.xlsx", made(issues, whole))
    assert time.process_time() - start < 5.0
