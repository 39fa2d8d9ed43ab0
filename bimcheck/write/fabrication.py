"""fabrication.xlsx: drilling schedule by mark, pieces, articles, and what is not released."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from bimcheck.core.tables import Tables
from bimcheck.write import fabrication_rows as content
from bimcheck.write.plain_book import about_the_run, first_page, write_book
from bimcheck.write.workbook_issues_book import Book, Field, Links

TITLE = "Drilling schedule"
CAUTIONS = (
    "Preliminary design aid: no release for fabrication. The engineer of record and the local codes decide; drill only what they have released.",
    "Only panels whose result is pass have a drilling mark. What is missing here is on the sheet Not released, with the reason.",
    "Before drilling, measure the thickness of every panel of polished ungauged material, and drill a trial hole on an offcut of the lot: "
    "depth, undercut and the material left in front of the hole decide whether an anchor holds.",
    "Sizes are those of the model. Hold the panel against width, height and outline before the first hole; a mark that is mirrored is another mark.",
    "Panels are heavy and break: mass by panel is on the sheet Marks.",
)
NOTES = ("How to read it", [
    ("Mark", "panels that are drilled alike: outline, positions, depths, item, material and surface"),
    ("x, y", "centre of the hole from the lower-left corner of the panel's bounding rectangle, seen from the REAR: x to the right, y up"),
    ("Depth of hole", "from the rear face, or from the bottom of the recess where there is one"),
    ("Undercut", "bearing radius of the undercut, at the depth called embedment"),
    ("Recess", "flat recess on the rear; blank where depth is set from the front face and the thickness was not measured: see Drilling"),
    ("Fixed, sliding, free", "one anchor holds the panel in place, one carries weight and slides sideways, the rest move freely"),
])
# heading | width | look | column | unit
_MARK = """
Mark|10|text|drill_mark|
Panels|8|0|panels|
Shape|18|unit|shape|
Width|10|0.0|width|mm
Height|10|0.0|height|mm
Thickness, nominal|14|0.0|thickness|mm
Mass|9|0.0|mass|kg
Material|16|unit|material|
Surface|14|unit|surface|
Holes|7|0|holes|
Item|16|unit|item|
Diameter of hole|13|0.0|hole_diameter|mm
Undercut radius|13|0.0#|undercut_radius|mm
Embedment|11|0.0|embedment|mm
Depth of hole|13|0.0|hole_depth|mm
Recess|9|0.0|counterbore_set|mm
Drilling|60|wrap|drilling|
Bolt or set screw|13|unit|fastener|
Thread|8|unit|thread|
Length|9|0.0|bolt_length|mm
Washer|9|0.0|washer|mm
Clip wall|9|0.0|clip_wall|mm
Piece marks|60|unit|pieces|
"""
_HOLE = """
Mark|10|text|drill_mark|
Hole|7|unit|hole|
x from the left, seen from the REAR|22|0.0|x_rear|mm
y from below|11|0.0|y|mm
Nearest edge|10|0.0|edge|mm
Role|10|unit|role|
Carries|10|unit|carries|
Diameter of hole|13|0.0|hole_diameter|mm
Undercut radius|13|0.0#|undercut_radius|mm
Embedment|11|0.0|embedment|mm
Depth of hole|13|0.0|hole_depth|mm
Recess|9|0.0|counterbore_set|mm
Drilling|60|unit|drilling|
"""
_PIECE = """
Mark|10|text|drill_mark|
Piece mark|18|text|mark|
Name|24|unit|name|
GlobalId|26|unit|guid|
Model|24|unit|model|
Storey|18|unit|storey|
Facade|9|unit|facade|
Material|16|unit|material|
Lot|22|unit|lot|
Thickness, nominal|14|0.0|thickness|mm
Measured, least|14|0.0|measured_least|mm
Measured, greatest|14|0.0|measured_greatest|mm
Recess|9|0.0|counterbore_set|mm
Item|16|unit|item|
"""
_ARTICLE = """
Kind|12|unit|kind|
Article|50|unit|article|
Released (pass)|12|0|released|
Laid out in all|12|0|laid_out|
"""
_NOT = """
Piece mark|18|text|mark|
Name|24|unit|name|
GlobalId|26|unit|guid|
Storey|18|unit|storey|
Facade|9|unit|facade|
Result|12|unit|result|
Why|60|wrap|why|
Utilisation|11|0.00|utilisation|
What would help|60|wrap|way_out|
"""


def _fields(block: str) -> list[Field]:
    return [Field(t, float(w), look, name, unit) for t, w, look, name, unit in (line.split("|") for line in block.strip().splitlines())]


def write(result: Any, folder: Path) -> list[Path]:
    """The workbook in the run's units."""
    return [write_book(Path(folder) / "fabrication.xlsx", TITLE, result.units, lambda book: _fill(book, result))]


def _fill(book: Book, result: Any) -> None:
    tables: Tables = result.tables
    holes = content.holes(tables, book.units)
    row = {m: k + 2 for k, m in reversed(list(enumerate(holes["drill_mark"].tolist())))}
    marks = content.marks(tables, book.units)
    first_page(book, TITLE, CAUTIONS, [NOTES, about_the_run(result)])
    book.table("Marks", _fields(_MARK), marks, empty="no panel passes", links=Links("drill_mark", lambda k: f"internal:'Holes'!A{row[marks['drill_mark'][k]]}"))
    book.table("Holes", _fields(_HOLE), holes, frozen=2, empty="no panel passes")
    book.table("Pieces", _fields(_PIECE), content.pieces(tables), frozen=2, empty="no panel passes")
    book.table("Articles", _fields(_ARTICLE), content.articles(tables), empty="no anchors")
    book.table("Not released", _fields(_NOT), content.not_released(tables, book.units), empty="every panel has a mark")
