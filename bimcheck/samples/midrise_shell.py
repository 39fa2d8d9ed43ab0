"""What stands behind the cladding of the mid-rise: slabs, walls with window openings, insulation, windows."""

from __future__ import annotations

from collections.abc import Iterator

from bimcheck.samples.bodies import Ring, Solids
from bimcheck.samples.building import Frame, axes_at, element
from bimcheck.samples.midrise_plan import (
    GABLE,
    JOINT,
    ROOF,
    SIDES,
    STOREYS,
    columns_of,
    gable_ends,
    gable_height,
    is_window_row,
    rows_of,
)
from bimcheck.samples.midrise_specials import ENTRANCE, FALLING, HOPELESS, box, falling_height
from bimcheck.samples.midrise_supports import WALL
from bimcheck.samples.sides import inset, wall_ends

WALL_THICKNESS, SLAB, INSULATION = 200.0, 250.0, 140.0
WINDOW = (200.0, 70.0)  # depth of its front and thickness
GAP = 15.0  # round a window
Turned = list[tuple[str, str]]


def write_shell(frame: Frame, solids: Solids, turned: Turned) -> None:
    """turned: the references of normal and horizontal of each side."""
    for storey in range(STOREYS + 1):
        _slab(frame, solids, storey)
        for side in range(len(SIDES)):
            _layers(frame, solids, turned, side, storey)
            for k, opening in enumerate(openings(side, storey)):
                _window(frame, solids, turned, side, storey, k + 1, opening)


def openings(side: int, storey: int) -> Iterator[tuple[float, float, float, float]]:
    """Window openings: u, v, width and height between the panels."""
    if storey == ROOF:
        return
    rows = rows_of(storey)
    glazed = [r for r in range(len(rows)) if is_window_row(storey, r)]
    low, high = sum(rows[: glazed[0]]), sum(rows[: glazed[-1] + 1])
    for c, column in enumerate(columns_of(side)):
        if (side, storey, c) != (HOPELESS[0], HOPELESS[1], HOPELESS[3]):
            entrance = (side, storey, 0, c, 0) == ENTRANCE
            v = 30.0 if entrance else low
            if column.bay:
                yield column.u, v, column.w, high - JOINT - v


def _slab(frame: Frame, solids: Solids, storey: int) -> None:
    axes = axes_at(frame.step, (0.0, 0.0, 0.0), frame.z, frame.x)
    element(frame, frame.storeys[storey], "IfcSlab", f"S-{storey:02d}", "Roof slab" if storey == ROOF else "Floor slab", "Slab", axes,
            solids.plate([inset(SIDES, WALL)], SLAB), "Concrete C30/37", ".ROOF." if storey == ROOF else "")


def _layers(frame: Frame, solids: Solids, turned: Turned, side: int, storey: int) -> None:
    """A wall and the insulation before it, both with the window openings."""
    s, height = SIDES[side], sum(rows_of(storey))
    key = f"{s.name}-{storey:02d}"
    kinds = (("IfcWall", "W", "External wall", "Wall", WALL, WALL_THICKNESS, height - SLAB * (storey < ROOF), "Concrete C30/37", ""),
             ("IfcCovering", "I", "Insulation", "Insulation", WALL - INSULATION, INSULATION, height, "Mineral wool", ".INSULATION."))
    for cls, letter, name, kind, depth, thickness, top, material, predefined in kinds:
        left, right = wall_ends(s, depth, thickness)
        outline = _outline(side, storey, left, right, top)
        holes = [box(*o) for o in openings(side, storey)]
        axes = axes_at(frame.step, (*s.at(0.0, depth), 0.0), *turned[side])
        element(frame, frame.storeys[storey], cls, f"{letter}-{key}", name, kind, axes, solids.plate([outline, *holes], thickness),
                material, predefined)


def _outline(side: int, storey: int, left: float, right: float, top: float) -> Ring:
    """A rectangle, but at the roof a little below the edge of a gable or of a falling coping."""
    if storey == ROOF and side == GABLE[0]:
        crest = [(u, top + gable_height(u) - 30.0) for u in (right, gable_ends()[2], left)]
    elif storey == ROOF and side == FALLING:
        crest = [(u, falling_height(u) - 30.0) for u in (right, left)]
    else:
        crest = [(right, top), (left, top)]
    return ((left, 0.0), (right, 0.0), *crest)


def _window(frame: Frame, solids: Solids, turned: Turned, side: int, storey: int, k: int, opening: tuple[float, float, float, float]) -> None:
    """A frame-and-glass stand-in; doors of the entrance count as one."""
    step, s, level = frame.step, SIDES[side], frame.storeys[storey]
    u, v, w, h = opening
    axes = axes_at(step, (*s.at(u + GAP, WINDOW[0]), v + GAP), *turned[side])
    width, height = w - 2 * GAP, h - 2 * GAP
    shape = solids.box(width, height, WINDOW[1])
    placement = step.add(f"IFCLOCALPLACEMENT({level.placement},{axes})")
    mark = f"G-{s.name}-{storey:02d}-{k:02d}"
    ref = step.add(f"IFCWINDOW({step.root(mark)},'Window {mark}',$,'Window',{placement},{shape},'{mark}',{step.mm(height)},{step.mm(width)},"
                   f".WINDOW.,.SINGLE_PANEL.,$)")
    level.elements.append(ref)
