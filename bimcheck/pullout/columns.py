"""Columns of a series file: what may stand in them, and the template that shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "choice", "date", "load", "length", "stress"]


@dataclass(frozen=True)
class Column:
    """A column of the file.  choices: canonical word -> other spellings; unknown words are kept only where `open`."""

    name: str
    kind: Kind
    text: str
    needed: str = ""
    choices: tuple[tuple[str, tuple[str, ...]], ...] = ()
    open: bool = False


PULL_OUT, FLEXURAL = "pull-out", "flexural"
TESTS = ((PULL_OUT, ("pullout", "pull out", "anchor")), (FLEXURAL, ("flexure", "bending")))
CONDITIONS = (("dry", ("as received", "air-dry", "air dry")), ("wet", ("saturated", "soaked")),
              ("frost", ("after frost", "freeze-thaw", "frozen")), ("aged", ("after ageing", "weathered")))
DIRECTIONS = (("tension", ("pull", "axial")), ("shear", ("lateral",)),
              ("parallel", ("parallel to rift",)), ("perpendicular", ("perpendicular to rift",)))
STANDARDS = tuple((name, (name.replace(" ", ""), name.replace(" ", "-"))) for name in (
    "EN 12372", "EN 13161", "EN 14617-2", "EN 12467", "ISO 10545-4", "ASTM C880"))

COLUMNS = (
    Column("specimen", "text", "specimen number or mark"),
    Column("test", "choice", "pull-out (default) or flexural", choices=TESTS),
    Column("material", "text", "material name; becomes the name of the material row", "always"),
    Column("colour", "text", "colour or trade shade"),
    Column("batch", "text", "batch, lot or block"),
    Column("position", "text", "place in the quarry: a number along the face (drift is tested) or a name such as left, right"),
    Column("thickness", "length", "nominal thickness; specimens of one nominal thickness form one group", "always"),
    Column("measured_thickness", "length", "thickness measured at the anchor or break; replaces the nominal one in flexural formulas"),
    Column("condition", "choice", "dry, wet, frost, aged, or your own word; left empty: not stated", choices=CONDITIONS, open=True),
    Column("direction", "choice", "pull-out: tension (default) or shear; flexural: parallel or perpendicular to the rift", choices=DIRECTIONS),
    Column("embedment", "length", "embedment of the undercut", PULL_OUT),
    Column("edge", "length", "distance from the anchor's axis to the nearest edge of the specimen", PULL_OUT),
    Column("spacing", "length", "spacing, where anchors were tested in pairs"),
    Column("ring", "length", "inner diameter of the support ring"),
    Column("load", "load", "load at failure", PULL_OUT),
    Column("standard", "choice", "flexural: EN 12372, EN 13161, EN 14617-2, EN 12467, ISO 10545-4 or ASTM C880", FLEXURAL, choices=STANDARDS),
    Column("span", "length", "flexural: span between the supports"),
    Column("width", "length", "flexural: width of the specimen"),
    Column("strength", "stress", "flexural: strength, in place of load, span and width"),
    Column("failure", "text", "failure mode: breakout, splitting, bending, anchor ..."),
    Column("date", "date", "date of the test, YYYY-MM-DD or DD.MM.YYYY"),
    Column("laboratory", "text", "laboratory's reference"),
    Column("remark", "text", "anything else; kept"),
)
ALIASES = {"color": "colour", "failure_mode": "failure", "edge_distance": "edge", "support_ring": "ring", "ring_diameter": "ring",
           "breaking_load": "load", "failure_load": "load", "quarry_position": "position", "lab": "laboratory", "no": "specimen"}
BY_NAME = {column.name: column for column in COLUMNS}
UNITS: dict[Kind, tuple[str, ...]] = {"load": ("kN", "N", "lbf"), "length": ("mm", "in"), "stress": ("MPa", "psi")}
UNIT_COLUMNS: dict[str, Kind] = {"load_unit": "load", "length_unit": "length", "stress_unit": "stress"}

_ROWS = (
    ("P-01", "pull-out", "example granite", "grey", "A", "0", "30", "", "dry", "tension", "15", "100", "", "60", "3.42", "", "", "", "", "breakout", "2026-03-02", "LAB-0001"),
    ("P-02", "pull-out", "example granite", "grey", "A", "4", "30", "", "dry", "tension", "15", "100", "", "60", "3.88", "", "", "", "", "breakout", "2026-03-02", "LAB-0001"),
    ("F-01", "flexural", "example granite", "grey", "A", "", "30", "30.1", "dry", "perpendicular", "", "", "", "", "2.51", "EN 12372", "150", "50", "", "bending", "2026-03-03", "LAB-0002"),
)


def template() -> str:
    """A series file with every column explained and three invented rows to be replaced."""
    about = [f"# {c.name}{_units(c)}: {c.text}{_needed(c)}" for c in COLUMNS]
    heading = ",".join(_with_unit(c) for c in COLUMNS)
    return "\n".join([
        "# Test series for bimcheck pullout. Lines that begin with # are not read. The rows are invented: replace them.",
        "# Units stand in the heading (load_kN, load_N, load_lbf, thickness_mm, thickness_in, strength_MPa, strength_psi),",
        "# or, row by row, in columns load_unit, length_unit and stress_unit. Columns that you do not need may be left out.",
        *about, heading, *(",".join((*row, "invented")) for row in _ROWS)]) + "\n"


def _with_unit(column: Column) -> str:
    return f"{column.name}_{UNITS[column.kind][0]}" if column.kind in UNITS else column.name


def _units(column: Column) -> str:
    return f" ({', '.join(UNITS[column.kind])})" if column.kind in UNITS else ""


def _needed(column: Column) -> str:
    if not column.needed:
        return ""
    return "; needed" if column.needed == "always" else f"; needed for {column.needed} tests"
