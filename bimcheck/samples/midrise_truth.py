"""What the mid-rise holds, from how it was laid out and never from the written file."""

from __future__ import annotations

from collections import Counter
from typing import Any

from bimcheck.samples.midrise_plan import CORNERS, GABLE, PARAPET, ROOF, SIDES, Address, Cell, elevation
from bimcheck.samples.midrise_specials import CURVED, FAULTS, NOTCHED, Fault
from bimcheck.samples.step import guid_of

TOP = elevation(ROOF) + PARAPET[0] + GABLE[1]


def truth(name: str, about: str, file: str, space: str, panels: list[Cell]) -> dict[str, Any]:
    """Counts, facades, planted faults and a row a panel; lengths in mm where not said otherwise."""
    guid = {c.at: guid_of(f"{space}/{c.mark}") for c in panels}
    return {
        "name": name, "about": about, "file": file, "schema": "IFC4", "length_unit": "MILLIMETRE",
        "counts": dict(sorted(Counter(_status(c) for c in panels).items())),
        "ground_m": 0.0, "h_m": TOP / 1000.0, "footprint_m": [[x / 1000.0, y / 1000.0] for x, y in CORNERS],
        "facades": [{"name": s.name, "normal": list(s.n), "length_m": s.length / 1000.0,
                     "left_corner": _kind(s.starts_external), "right_corner": _kind(s.ends_external)} for s in SIDES],
        "planted": [_planted(f, guid, panels) for f in FAULTS],
        "not_panels": {guid[c.at]: c.reason for c in panels if c.reason},
        "curved": [guid[at] for at in CURVED],
        "not_rectangular": {guid[c.at]: _shape(c) for c in panels if c.rings and len(c.rings) == 1},
        "cut_outs": {guid[c.at]: _cut(c) for c in panels if _cut(c)},
        "columns": ["guid", "mark", "class", "material", "facade", "storey", "width_mm", "height_mm", "thickness_mm"],
        "panels": [[guid[c.at], c.mark, c.cls, c.material, SIDES[c.at[0]].name, c.at[1], c.w, c.h, c.t] for c in panels],
    }


def _status(cell: Cell) -> str:
    return "panel" if not cell.reason else "unreadable" if cell.reason == "no-geometry" else "out_of_scope"


def _kind(external: bool) -> str:
    return "external" if external else "re-entrant"


def _planted(fault: Fault, guid: dict[Address, str], panels: list[Cell]) -> dict[str, Any]:
    marks = {c.at: c.mark for c in panels}
    return {"fault": fault.fault, "rule": fault.rule, "guids": [guid[at] for at in fault.places],
            "marks": [marks[at] for at in fault.places], **fault.measure, "note": fault.note}


def _shape(cell: Cell) -> str:
    return "L" if cell.at in NOTCHED else {3: "triangle", 4: "trapezoid"}.get(len((cell.rings or [()])[0]), "five-cornered")


def _cut(cell: Cell) -> str:
    return "opening" if cell.opening else "circle" if cell.circles else "rectangle" if len(cell.rings or ()) > 1 else ""
