"""Pages of the groups and of their design values."""

from __future__ import annotations

import math
from typing import Any

from xlsxwriter.utility import xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from bimcheck.pullout.book import Book, Head
from bimcheck.pullout.design import design
from bimcheck.pullout.evaluation import Evaluation
from bimcheck.pullout.groups import Group
from bimcheck.pullout.present import RULES, unit_of
from bimcheck.pullout.wording import percent

_KEY_HEADS = (("material", Head("Material", 20, "strong")), ("thickness", Head("Thickness mm", 10, "0.0")), ("colour", Head("Colour", 13)),
              ("batch", Head("Batch", 9)), ("position", Head("Position", 10)), ("condition", Head("Condition", 11)),
              ("direction", Head("Direction", 13)), ("embedment", Head("Embedment mm", 11, "0.0")), ("edge", Head("Edge mm", 8, "0.0")),
              ("spacing", Head("Spacing mm", 8, "0.0")), ("ring", Head("Ring mm", 8, "0.0")), ("standard", Head("Standard", 12)))
_FIGURES = (Head("n", 5, "0"), Head("Unit", 6), Head("Mean", 9, "0.000"), Head("s", 8, "0.000"), Head("CoV", 7, "0.0%"),
            Head("Least value", 9, "0.000"), Head("k", 7, "0.000"), Head("5 % normal", 9, "0.000"), Head("5 % log-normal", 11, "0.000"),
            Head("Characteristic", 12, "0.000"), Head("by", 11), Head("Characteristic lbf / psi", 12, "#,##0"),
            Head("p normal", 8, "0.000"), Head("p log-normal", 10, "0.000"), Head("Outlier", 16), Head("Failure modes", 20), Head("Cautions", 26))


def groups_page(book: Book, e: Evaluation) -> None:
    sheet = book.page("Groups", "Groups: specimens that must not be mixed",
                      f"{_k_note(e)} Characteristic value {percent(e.settings.fractile)} fractile. kN for pull-out, MPa for flexure.")
    keys = [(name, head) for name, head in _KEY_HEADS if any(_stated(g.key[name]) for g in e.all_groups)]
    figures = [_renamed(h, e) for h in _FIGURES]
    book.table(sheet, 3, (Head("Group", 7, "strong"), *(head for _, head in keys), *figures),
               [(g.id, *(_blank(g.key[name]) for name, _ in keys), *_figures(g, e)) for g in e.all_groups])
    sheet.freeze_panes(4, 2)


def _k_note(e: Evaluation) -> str:
    return f"Factor {e.groups[0].characteristic.k_text}."


def _renamed(head: Head, e: Evaluation) -> Head:
    return Head(head.title.replace("5 %", percent(e.settings.fractile)), head.width, head.look)


def _stated(value: Any) -> bool:
    return bool(value) if isinstance(value, str) else not math.isnan(value)


def _blank(value: Any) -> Any:
    return value if _stated(value) else None


def _figures(g: Group, e: Evaluation) -> tuple[Any, ...]:
    d, c, unit = g.described, g.characteristic, unit_of(g)
    return (d.n, unit.si_name, d.mean * unit.si, d.s * unit.si, d.V, d.least * unit.si, c.k, c.normal * unit.si, c.lognormal * unit.si,
            c.governing * unit.si, RULES[c.rule], c.governing * unit.us, g.normality.p_normal, g.normality.p_lognormal,
            _outlier(g, e), _modes(g, e), _cautions(g, e))


def _outlier(g: Group, e: Evaluation) -> str:
    if not g.outlier.is_outlier:
        return "none" if g.outlier.position >= 0 else "not tested"
    return f"row {e.series.table['line'][g.rows[g.outlier.position]]}, G = {g.outlier.G:.2f}, {g.outlier.side}"


def _modes(g: Group, e: Evaluation) -> str:
    modes = [m for m in e.series.table["failure"][g.rows] if m]
    return ", ".join(f"{m} {modes.count(m)}" for m in dict.fromkeys(modes)) or "not stated"


def _cautions(g: Group, e: Evaluation) -> str:
    pooled = [f"pooled into {e.pooling.into[g.id]}"] if g.id in e.pooling.into else []
    return ", ".join([*pooled, *(c.rule for c in e.cautions_of(g))]) or "none"


_DESIGN = (Head("Group", 11, "strong"), Head("What was tested", 74), Head("n", 6, "0"), Head("Unit", 7), Head("Mean", 10, "0.000"),
           Head("Characteristic R_k", 14, "0.000"), Head("R_d = R_k eta / gamma_M", 14, "0.000"), Head("R_d lbf / psi", 12, "#,##0"),
           Head("Mean format: R_mean eta / F", 14, "0.000"), Head("the same lbf / psi", 12, "#,##0"), Head("Cautions", 40))
_TOP = 8


def design_page(book: Book, e: Evaluation) -> None:
    """The factors stand in three cells; the design values are formulas on them, so that others can be tried."""
    sheet = book.page("Design values", "Design values", "The factors below are the reader's to set; the table follows them.")
    _factor_cells(book, e, sheet)
    groups = e.all_groups
    book.table(sheet, _TOP, _DESIGN, [_design_row(g, e) for g in groups])
    for row, group in enumerate(groups, start=_TOP + 1):
        _formulas(book, sheet, row, group, e)
    sheet.freeze_panes(_TOP + 1, 1)


def _factor_cells(book: Book, e: Evaluation, sheet: Worksheet) -> None:
    f = e.factors
    cells = (("gamma_M", f.gamma_M, "partial factor on the characteristic value"), ("global_factor", f.global_factor, "global factor F on the mean"),
             ("eta", f.eta, "further conditioning factor (1: none)"))
    for row, (name, value, text) in enumerate(cells, start=3):
        origin = "ASSUMED, no source: state your own" if name in f.assumed else "as stated"
        sheet.write_string(row, 0, {"global_factor": "F"}.get(name, name), book.look("strong"))
        sheet.write_number(row, 2, value, book.look("input"))
        sheet.write_string(row, 1, f"{text}; {origin}", book.look("bad" if name in f.assumed else "text"))


def _design_row(g: Group, e: Evaluation) -> tuple[Any, ...]:
    unit = unit_of(g)
    return (g.id, g.label, g.described.n, unit.si_name, g.described.mean * unit.si, g.characteristic.governing * unit.si,
            None, None, None, None, ", ".join(c.rule for c in e.cautions_of(g)) or "none")


def _formulas(book: Book, sheet: Worksheet, row: int, g: Group, e: Evaluation) -> None:
    d, unit = design(g, e.factors), unit_of(g)
    mean, R_k = xl_rowcol_to_cell(row, 4), xl_rowcol_to_cell(row, 5)
    for column, source, factor_cell, value in ((6, R_k, "$C$4", d.by_characteristic), (8, mean, "$C$5", d.by_mean)):
        if math.isnan(value):
            book.cell(sheet, row, column, value, "0.000")
            book.cell(sheet, row, column + 1, value, "#,##0")
            continue
        own = xl_rowcol_to_cell(row, column)
        sheet.write_formula(row, column, f"={source}*$C$6/{factor_cell}", book.look("0.000"), value * unit.si)
        sheet.write_formula(row, column + 1, f"={own}*{unit.us / unit.si!r}", book.look("#,##0"), value * unit.us)
