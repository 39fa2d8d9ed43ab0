"""The workbook of a qualification: read first, groups, design values, comparisons, series, assumptions, pictures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from numpy.typing import NDArray
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from bimcheck.core.settings import facts
from bimcheck.pullout.book import Book, Head
from bimcheck.pullout.columns import COLUMNS
from bimcheck.pullout.evaluation import Evaluation
from bimcheck.pullout.groups import Group
from bimcheck.pullout.pages_groups import design_page, groups_page
from bimcheck.pullout.present import CAUTION, FORCE, unit_of
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.wording import listed

MOST_PICTURES = 60
_PICTURE_ROWS = 22  # of 15 points: two pictures on a page


def write_workbook(e: Evaluation, path: Path, pictures: Sequence[Path] = ()) -> Path:
    """pictures: PNG files, in the groups' order; the first 60 are put into the workbook."""
    with Workbook(str(path), _options()) as workbook:
        workbook.set_properties({"title": "Material qualification", "subject": e.series.file, "comments": CAUTION,
                                 "created": datetime(e.today.year, e.today.month, e.today.day)})
        book = Book(workbook, f"{e.series.file[:60].replace('&', '&&')}, {e.today.isoformat()}")
        _first_page(book, e)
        groups_page(book, e)
        design_page(book, e)
        _comparisons_page(book, e)
        _series_page(book, e)
        _assumptions_page(book, e)
        if pictures:
            _pictures_page(book, pictures)
    return path


def _options() -> dict[str, Any]:
    """Fresh each time: the library writes into what it is given."""
    return {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False,
            # The width of this font's digits is what the library counts columns in; every program has it or its like.
            "default_format_properties": {"font_name": "Arial", "font_size": 10}}


def _first_page(book: Book, e: Evaluation) -> None:
    sheet = book.page("Read first", "Material qualification from test series", wide=False)
    sheet.merge_range(2, 0, 2, 2, f"{CAUTION} Characteristic values hold for the material, thickness, embedment, edge distance, "
                      "condition and support ring tested, and for no other.", book.look("caution"))
    sheet.set_row(2, 32)
    facts_ = (("Series file", e.series.file), ("SHA-256 of the file", e.series.sha256), ("Evaluated on", e.today.isoformat()),
              ("Specimens", str(e.series.table.n)), ("Groups", _group_count(e)), ("Written by", f"bimcheck {e.version}"))
    for row, (name, value) in enumerate(facts_, start=4):
        sheet.write_string(row, 0, name, book.look("strong"))
        sheet.merge_range(row, 1, row, 2, value, book.look("text"))
    sheet.write_string(11, 0, f"Cautions ({len(e.cautions)})", book.look("strong"))
    rows = [(c.group or "file", c.rule, c.text) for c in e.cautions] or [("", "", "none")]
    book.table(sheet, 12, (Head("Group", 20, "strong"), Head("What", 17), Head("Caution", 78)), rows, filtered=len(rows) > 1)


def _group_count(e: Evaluation) -> str:
    return f"{len(e.groups)}" + (f", {len(e.merged)} pooled" if e.merged else "")


_COMPARED = (Head("Compared", 38, "strong"), Head("Groups", 14), Head("Verdict", 20, "verdict"), Head("Reason", 80),
         Head("Difference of means", 12, "0.0%"), Head("Not excluded (95 %)", 12, "0.0%"), Head("Standard deviations apart", 12, "0.00"),
         Head("Welch F", 10, "0.00"), Head("p, means", 10, "0.000"), Head("Ratio of scatter", 10, "0.00"), Head("p, scatter (Brown-Forsythe)", 13, "0.000"))


def _comparisons_page(book: Book, e: Evaluation) -> None:
    sheet = book.page("Comparisons", "Comparisons: what may be pooled, drift, conditioning",
                      "The size of the difference and what the data exclude decide, not a p-value alone.")
    rows = [(c.title, _ids(c.groups), c.verdict, c.reason, c.difference, c.reach, c.effect, c.F, c.p_means, c.scatter, c.p_scatter)
            for c in e.comparisons]
    nothing = [("no groups differ in one thing alone", "", "", "", *(None,) * 7)]
    after = book.table(sheet, 3, _COMPARED, rows or nothing, filtered=False)
    after = _drift_rows(book, e, sheet, after + 1)
    _eta_rows(book, e, sheet, after + 1)
    sheet.freeze_panes(4, 1)


def _drift_rows(book: Book, e: Evaluation, sheet: Worksheet, top: int) -> int:
    titles = ("Drift along the quarry face", "Groups", "Verdict", "Reason", "Change over the length", "Half-width (95 %)",
              "Sampled length", "Slope (kN or MPa per unit)", "p, slope")
    rows = [(d.groups[0].label, _ids(d.groups), d.verdict, d.reason, d.change, d.half, d.length,
             d.line.slope * unit_of(d.groups[0]).si, d.line.p) for d in e.drifts]
    formats = ("strong", "text", "verdict", "text", "0.0%", "0.0%", "0.0", "0.0000", "0.000")
    return _block(book, sheet, top, titles, formats, rows, "positions are not numbers, or fewer than 3")


def _eta_rows(book: Book, e: Evaluation, sheet: Worksheet, top: int) -> int:
    titles = ("Conditioned against dry", "Groups", "eta used (at most 1)", "Reason", "eta", "Lower end (95 %)", "Upper end (95 %)")
    rows = [(f"{x.condition}: {x.group.label}", f"{x.group.id}, {x.dry.id}", x.factor, x.reason,
             *((x.ratio.value, x.ratio.low, x.ratio.high) if x.ratio else (None,) * 3)) for x in e.etas]
    formats = ("strong", "text", "0.000", "text", "0.000", "0.000", "0.000")
    return _block(book, sheet, top, titles, formats, rows, "no conditioned group has a dry partner")


def _block(book: Book, sheet: Worksheet, top: int, titles: Sequence[str], formats: Sequence[str],
           rows: Sequence[Sequence[object]], nothing: str) -> int:
    """A further table on a page whose column widths are set."""
    for column, title in enumerate(titles):
        sheet.write_string(top, column, title, book.look("head"))
    sheet.set_row(top, 45)
    for row, values in enumerate(rows or [(nothing,)], start=top + 1):
        book.row(sheet, row, values, formats, [h.width for h in _COMPARED])
    return top + 1 + max(len(rows), 1)


def _ids(groups: Sequence[Group]) -> str:
    return listed([g.id for g in groups])


def _series_page(book: Book, e: Evaluation) -> None:
    sheet = book.page("Series", "Series as read", "Every row of the file; nothing is left out. Lengths in mm.")
    table, group_of, outliers = e.series.table, {}, set()
    for group in e.groups:
        group_of |= dict.fromkeys(group.rows.tolist(), group.id)
        outliers |= {int(group.rows[group.outlier.position])} if group.outlier.is_outlier else set()
    columns = [c for c in COLUMNS if c.name not in ("load", "strength") and _used(table[c.name])]
    heads = (Head("Row of file", 8, "0"), Head("Group", 8, "strong"), *(Head(_title(c.name, c.kind), _width(c.kind), _look(c.kind)) for c in columns),
             Head("Load kN", 9, "0.000"), Head("Load lbf", 9, "#,##0"), Head("Strength MPa", 10, "0.00"), Head("Breaking strength S N (ISO 10545-4)", 12, "0"), Head("Note", 14))
    strength = [v if test == "flexural" else None for v, test in zip(table["value"].tolist(), table["test"], strict=True)]
    body = zip(table["line"].tolist(), [group_of[i] for i in range(table.n)], *(_cells(table[c.name]) for c in columns),
               _cells(table["load"] * FORCE.si), _cells(table["load"] * FORCE.us), strength, _cells(table["breaking_strength"]),
               ["outlier, kept" if i in outliers else "" for i in range(table.n)], strict=True)
    book.table(sheet, 3, heads, body)
    sheet.freeze_panes(4, 2)


def _used(column: NDArray[Any]) -> bool:
    return any(v == v and v != "" for v in column.tolist())  # noqa: PLR0124


def _cells(column: NDArray[Any]) -> list[object]:
    return [v if isinstance(v, str) or v == v else None for v in column.tolist()]  # noqa: PLR0124


def _title(name: str, kind: str) -> str:
    plain = name.replace("_", " ")
    return f"{plain[0].upper()}{plain[1:]}{' mm' if kind == 'length' else ''}"


def _width(kind: str) -> float:
    return {"text": 15.0, "choice": 13.5, "date": 11.0}.get(kind, 11.0)


def _look(kind: str) -> str:
    return "0.0" if kind == "length" else "text"


def _assumptions_page(book: Book, e: Evaluation) -> None:
    sheet = book.page("Assumptions", "Assumptions: every setting, its value and its source", "Change a setting by the option of the same name.", wide=False)
    rows = []
    for name, info in Qualification.model_fields.items():
        value, extra = getattr(e.settings, name), facts(info)
        shown = _shown(name, value, e)
        rows.append((name, shown, extra.get("unit", ""), info.description or "", extra.get("source", "")))
    rows += [("date", e.today.isoformat(), "", "date of the run: the age of series is judged at it", "--date, SOURCE_DATE_EPOCH or today")]
    heads = (Head("Setting", 22, "strong"), Head("Value", 20), Head("Unit", 7), Head("What it is", 55), Head("Source", 45))
    after = book.table(sheet, 3, heads, rows, filtered=False)
    for i, text in enumerate(_NOTES, start=after + 1):
        sheet.merge_range(i, 0, i, 4, text, book.look("text"))
        sheet.set_row(i, 27 if len(text) > 150 else 14)


_NOTES = (
    "Specimens are evaluated as they stand in the file: outliers are flagged and never removed.",
    "Characteristic value: mean - k s (normal) or exp(mean of ln - k s of ln) (log-normal); the fractile is exceeded with the stated share "
    "only if the distribution is the assumed one and the specimens represent the delivery.",
    "EN 1990 Table D.1 and ISO 16269-6 give different quantities under one letter k; the groups sheet says which was used.",
)


def _shown(name: str, value: object, e: Evaluation) -> str:
    if name in e.factors.assumed:
        return f"{getattr(e.factors, name):g} (ASSUMED, state your own)"
    return "not stated" if value is None else str(value)


def _pictures_page(book: Book, pictures: Sequence[Path]) -> None:
    sheet = book.page("Pictures", "Pictures: one for each group", "Also as files, SVG and PNG, next to this workbook.", wide=False)
    sheet.fit_to_pages(0, 0)
    sheet.set_print_scale(100)
    sheet.set_default_row(15)
    sheet.set_column(0, 12, 8.43)  # stated, so that every program stretches the pictures alike
    for i, path in enumerate(pictures[:MOST_PICTURES]):
        sheet.insert_image(3 + _PICTURE_ROWS * i, 0, str(path), {"x_scale": 0.8, "y_scale": 0.8, "object_position": 3, "description": path.stem})
    sheet.set_h_pagebreaks([3 + _PICTURE_ROWS * i for i in range(2, min(len(pictures), MOST_PICTURES), 2)])
    if len(pictures) > MOST_PICTURES:
        sheet.write_string(2, 0, f"the first {MOST_PICTURES} of {len(pictures)} pictures; the others are files", book.look("strong"))

