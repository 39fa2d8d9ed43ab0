"""substructure.csv and .xlsx: heights of rails and what they carry, for whoever designs the substructure."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table
from bimcheck.write.plain_book import about_the_run, first_page, write_book
from bimcheck.write.tables import texts, write_csv
from bimcheck.write.workbook_issues_book import Book, Field

TITLE = "Rails: heights and reactions"
CAUTIONS = (
    "Preliminary design aid for the substructure's designer, who decides with the local codes and the engineer of record; "
    "rails, brackets, their fixings and the wall are not checked here.",
    "Heights are those of the panels as modelled, without tolerances, movement or the deformation of the substructure; a row that is "
    "marked free has no rail in the model.",
    "Reactions hold for the layouts of this run: a change of a panel, of the wind or of a layout changes them. Panels that have not "
    "passed are counted in; see the columns panels and passing.",
    "Forces of stiff rails and of rails as soft as [actions] spring_kN_mm states are covered; a continuous rail over several panels, "
    "prying and second-order effects are not.",
)
NOTES = ("How to read it", [
    ("Row", "one facade and height of anchor rows, less [layout] clip_offset_mm, rounded to 1 mm, and one combination"),
    ("Signs", "outward (pulling off the building) is above 0; weight acts down"),
    ("Single actions", "weight, wind suction and wind pressure without factors, for combinations of your own; then the combinations the anchors are proved by"),
    ("Of one anchor", "greatest and least force along the outward normal of one anchor in the row, and greatest weight"),
    ("Of one panel", "greatest sum of one panel in the row, outward and inward, and its weight there"),
    ("Per metre", "the same over the panel's width"),
])
# heading | width | look | column | unit | unit inside | name in the CSV
_FIELDS = """
Facade|10|text|facade||
Height above ground|15|0.000|height|m|mm
Storey|20|unit|storey||
Rail|18|text|carrier||
Anchors|9|0|anchors||
Panels|8|0|panels||
Passing|8|0|passing||
Combination|30|unit|combination||
Greatest of one anchor|16|0.0|outward|N|
Least of one anchor|16|0.0|least|N|
Weight on one anchor|16|0.0|weight|N|
Outward of one panel|16|0.0|panel_outward|N|
Inward of one panel|16|0.0|panel_inward|N|
Weight of one panel|16|0.0|panel_weight|N|
Outward per metre|16|0.00|line_outward|kN/m|N/mm
Inward per metre|16|0.00|line_inward|kN/m|N/mm
Weight per metre|16|0.00|line_weight|kN/m|N/mm
Clause|40|unit|clause||
"""
FIELDS = [Field(t, float(w), look, name, unit, inside) for t, w, look, name, unit, inside in (line.split("|") for line in _FIELDS.strip().splitlines())]


def write(result: Any, folder: Path) -> list[Path]:
    """substructure.csv (SI) and substructure.xlsx (units of the run)."""
    table = result.tables.get("support_reactions")
    if table is None:
        raise InputError("this run states no reactions", str(folder), "run bimcheck again")
    book = write_book(Path(folder) / "substructure.xlsx", TITLE, result.units, lambda b: _fill(b, result, table))
    return [_csv(Path(folder) / "substructure.csv", table), book]


def _fill(book: Book, result: Any, table: Table) -> None:
    first_page(book, TITLE, CAUTIONS, [NOTES, about_the_run(result)])
    book.table("Reactions", FIELDS, table, frozen=2, empty="no anchors")


def _csv(path: Path, table: Table) -> Path:
    names = {"height": "height_m"} | {f.name: f"{f.name}_N" for f in FIELDS if f.unit == "N"} | {f.name: f"{f.name}_kN_m" for f in FIELDS if f.unit == "kN/m"}
    columns = [texts(table[f.name], f.scale("si")) for f in FIELDS]
    return write_csv(path, [names.get(f.name, f.name) for f in FIELDS], columns)
