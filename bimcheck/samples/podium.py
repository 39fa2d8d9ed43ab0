"""A small invented podium: IFC2X3 in metres with faceted bodies, 40 panels, one joint too narrow."""

from __future__ import annotations

from pathlib import Path

from bimcheck.samples.bodies import Box, boxes
from bimcheck.samples.building import Frame, axes_at, begin, element, finish
from bimcheck.samples.records import write_record
from bimcheck.samples.sides import Side, sides_of
from bimcheck.samples.step import guid_of

NAME = "Invented sample: a small podium"
ABOUT = "Invented for trying the tool: no real building, project, product or person. One joint is too narrow on purpose"
FILE, TRUTH = "small_podium_metre.ifc", "small_podium_metre.truth.json"
SPACE = "podium"
CORNERS = ((0.0, 0.0), (7200.0, 0.0), (7200.0, 5400.0), (0.0, 5400.0))
PITCH, ROW, ROWS, JOINT = 1800.0, 1000.0, 3, 8.0
RETURN = 48.0  # where a side starts behind the edge of its neighbour
STONE = {"F1": ("Granite, flamed", 30.0)}
OTHERS = ("Limestone, honed", 40.0)
DOOR = {("F1", 0, 1), ("F1", 1, 1)}  # side, row, column
NARROW, TOO_WIDE = ("F3", 1, 1), 5.0
RAIL_DEPTH, RAIL, SLAB, SLAB_INSET = 90.0, (40.0, 30.0), 200.0, 250.0


def write(path: Path | str) -> Path:
    """Write the podium; the same bytes each time."""
    frame = begin(SPACE, NAME, ABOUT, [("00 Ground floor", 0.0)], "IFC2X3", "METRE")
    box = boxes(frame, "brep")
    for side in sides_of(CORNERS):
        turned = frame.turned(side.n, side.u)
        for (row, column), (u, v, w, h) in places(side).items():
            material, thickness = STONE.get(side.name, OTHERS)
            mark = _mark(side.name, row, column)
            axes = axes_at(frame.step, (*side.at(u, 0.0), v), *turned)
            element(frame, frame.storeys[0], "IfcPlate", mark, f"Panel {mark}", "Facade panel", axes, box(w, h, thickness), material)
        _rails(frame, box, side, turned)
    for k, level in enumerate((0.0, ROWS * ROW)):
        axes = axes_at(frame.step, (SLAB_INSET, SLAB_INSET, level), frame.z, frame.x)
        size = (CORNERS[2][0] - 2 * SLAB_INSET, CORNERS[2][1] - 2 * SLAB_INSET, SLAB)
        element(frame, frame.storeys[0], "IfcSlab", f"S-{k:02d}", "Slab", "Slab", axes, box(*size), "Concrete C30/37", "" if k == 0 else ".ROOF.")
    return finish(frame, Path(path), ABOUT)


def places(side: Side) -> dict[tuple[int, int], tuple[float, float, float, float]]:
    """u, v, width and height of each panel of a side by row and column, in mm."""
    found = {}
    for row in range(ROWS):
        for column in range(int(side.length // PITCH)):
            key = (side.name, row, column)
            u = max(column * PITCH, RETURN)
            if key not in DOOR:
                w = (column + 1) * PITCH - u - JOINT + TOO_WIDE * (key == NARROW)
                found[row, column] = (u, row * ROW, w, ROW - JOINT)
    return found


def write_truth(path: Path | str) -> Path:
    """Write what the podium holds and what was planted in it, as JSON; lengths in mm."""
    side, row, column = NARROW
    marks = [_mark(side, row, column), _mark(side, row, column + 1)]
    rows = [[guid_of(f"{SPACE}/{_mark(s.name, *at)}"), _mark(s.name, *at), *STONE.get(s.name, OTHERS), s.name, w, h]
            for s in sides_of(CORNERS) for at, (_, _, w, h) in places(s).items()]
    planted = {"fault": "joint too narrow", "rule": "joint-width", "guids": [guid_of(f"{SPACE}/{m}") for m in marks], "marks": marks,
               "joint_mm": JOINT - TOO_WIDE}
    about = {"name": NAME, "about": ABOUT, "file": FILE, "schema": "IFC2X3", "length_unit": "METRE", "counts": {"panel": len(rows)},
             "ground_m": 0.0, "h_m": (ROWS * ROW - JOINT) / 1000.0, "planted": [planted],
             "columns": ["guid", "mark", "material", "thickness_mm", "facade", "width_mm", "height_mm"], "panels": rows}
    return write_record(path, about)


def _mark(side: str, row: int, column: int) -> str:
    return f"Q-{side}-{row}-{column + 1:02d}"


def _rails(frame: Frame, box: Box, side: Side, turned: tuple[str, str]) -> None:
    """Two rails a row from corner to corner."""
    for row in range(ROWS):
        for k, up in enumerate((0.2, 0.8)):
            v = row * ROW + round(up * (ROW - JOINT)) - RAIL[0] / 2
            axes = axes_at(frame.step, (*side.at(130.0, RAIL_DEPTH), v), *turned)
            element(frame, frame.storeys[0], "IfcMember", f"R-{side.name}-{row}-{k}", "Horizontal rail", "Cladding rail", axes,
                    box(side.length - 260.0, *RAIL), "Aluminium EN AW-6063")
