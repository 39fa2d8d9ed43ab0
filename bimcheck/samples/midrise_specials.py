"""What makes the mid-rise worth checking: other outlines, cut-outs, other materials, and faults planted on purpose."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from bimcheck.samples.bodies import Ring
from bimcheck.samples.midrise_plan import (
    CEMENT,
    GABLE,
    JOINT,
    PARAPET,
    PORCELAIN,
    ROOF,
    SIDES,
    Address,
    Cell,
    cells,
    gable_ends,
    gable_height,
)

GLASS, METAL = "Toughened glass", "Aluminium sheet EN AW-5754"
HONEYCOMB = "Granite veneer on aluminium honeycomb"
ENTRANCE: Address = (0, 0, 0, 5, 0)
HOPELESS: Address = (5, 6, 0, 3, 0)  # one panel over the whole bay, where a window would be
STRAY: Address = (0, 5, 1, 6, 0)
NARROW: Address = (0, 4, 0, 2, 0)
OVERLAP: Address = (5, 3, 0, 4, 0)
NEAR_EDGE: Address = (4, 4, 1, 2, 0)
STRAY_GAP, STRAY_DEPTH = 5.0, 40.0  # mm behind the rear face; the rail begins at 50
FALLING, FALL = 1, 340.0  # side with a falling coping, and how much it falls

# Where things differ from the grid: addresses are (side, storey, row, column, part).
NOTCHED = [(5, s, 2, 0, 0) for s in (2, 3, 4)] + [(4, s, 2, 4, 0) for s in (2, 3, 4)]
VENTS = [(1, s, 1, 2, 0) for s in (2, 3, 4, 5)]
LAMPS = [(0, 0, 1, c, 0) for c in (0, 4, 6, 10)]
OPENED = [(4, 3, 1, 2, 0)]
CURVED = [(5, 0, 1, 4, 0)]
UNREADABLE = [(5, 5, 1, 2, 0)]
OTHERS = ({(0, 0, 0, c, 0): (GLASS, 12.0, "material:glass") for c in (1, 3, 7, 9)}
          | {(0, 0, 3, c, 0): (METAL, 3.0, "material:metal") for c in (3, 5, 7)}
          | {(0, 1, 0, c, 0): (HONEYCOMB, 25.0, "material:honeycomb") for c in (3, 5, 7)})
LEFT_OUT = [ENTRANCE, (5, 6, 1, 3, 0), (5, 6, 2, 3, 0)]


@dataclass(frozen=True)
class Fault:
    """A planted fault: what is wrong, the rule of the issue list that names it (blank: found by checking), where, how much."""

    fault: str
    rule: str
    places: tuple[Address, ...]
    measure: dict[str, float]
    note: str


FAULTS = (
    Fault("joint too narrow", "joint-width", (NARROW, (0, 4, 0, 3, 0)), {"joint_mm": 2.5}, "panel 5.5 mm too wide to the right"),
    Fault("overlap", "panel-overlap", (OVERLAP, (5, 3, 0, 5, 0)), {"overlap_mm": 12.0}, "panel 20 mm too wide to the right, in one plane"),
    Fault("bracket behind an anchor", "", (STRAY,), {"gap_mm": STRAY_GAP}, "a bracket behind the whole range of the lower left anchor"),
    Fault("cut-out near an edge", "cutout-near-edge", (NEAR_EDGE,), {"distance_mm": 35.0}, "round cut-out of 120 mm close to the left edge"),
    Fault("no pattern holds", "", (HOPELESS,), {"width_mm": 2392.0, "height_mm": 3492.0, "thickness_mm": 8.0},
          "a board of 8 mm over a whole bay, beyond any permitted pattern"),
)


def panels() -> list[Cell]:
    """The grid with everything below done to it."""
    return [_special(cell) for cell in cells() if cell.at not in LEFT_OUT]


def _special(cell: Cell) -> Cell:
    change = CHANGES.get(cell.at)
    if change:
        return change(cell)
    side, storey, row, _, _ = cell.at
    if storey == ROOF and side == FALLING:
        return _falling(cell)
    if storey == ROOF and side == GABLE[0] and row == 1:
        return _gable(cell)
    return cell


def _notched(cell: Cell) -> Cell:
    """An L: the upper right corner left free."""
    x, y = cell.w - 300.0, cell.h - 350.0
    return replace(cell, rings=(((0.0, 0.0), (cell.w, 0.0), (cell.w, y), (x, y), (x, cell.h), (0.0, cell.h)),))


def _vent(cell: Cell) -> Cell:
    x, y = cell.w / 2, cell.h / 2
    return replace(cell, rings=(box(0.0, 0.0, cell.w, cell.h), box(x - 110.0, y - 75.0, 220.0, 150.0)))


def _lamp(cell: Cell) -> Cell:
    return replace(cell, circles=((cell.w / 2, 800.0, 55.0),))


def _opened(cell: Cell) -> Cell:
    return replace(cell, opening=(cell.w / 2 - 130.0, cell.h / 2 - 90.0, 260.0, 180.0))


def _curved(cell: Cell) -> Cell:
    return replace(cell, bulge=60.0)


def _unreadable(cell: Cell) -> Cell:
    return replace(cell, reason="no-geometry")


def _other(material: str, thickness: float, reason: str) -> Callable[[Cell], Cell]:
    return lambda cell: replace(cell, material=material, t=thickness, reason=reason, cls="IfcPlate")


def _wider(by: float) -> Callable[[Cell], Cell]:
    return lambda cell: replace(cell, w=cell.w + by)


def _near_edge(cell: Cell) -> Cell:
    return replace(cell, circles=((95.0, cell.h / 2 + 100.0, 60.0),))


def _hopeless(cell: Cell) -> Cell:
    return replace(cell, material=CEMENT, t=8.0, h=3500.0 - JOINT)


def _falling(cell: Cell) -> Cell:
    """A trapezoid below a coping that falls to the right along the whole side."""
    left, right = falling_height(cell.u), falling_height(cell.u + cell.w)
    return replace(cell, h=left, rings=(((0.0, 0.0), (cell.w, 0.0), (cell.w, right), (0.0, left)),))


def falling_height(u: float) -> float:
    """Height of the parapet's panels under the falling coping."""
    return PARAPET[0] - JOINT - FALL * u / SIDES[FALLING].length


def _gable(cell: Cell) -> Cell:
    """Triangle, trapezoid, five-cornered apex, trapezoid, triangle."""
    apex = gable_ends()[2]
    knots = sorted({cell.u, cell.u + cell.w} | ({apex} if cell.u < apex < cell.u + cell.w else set()), reverse=True)
    top = [(u - cell.u, round(gable_height(u), 3)) for u in knots]
    ring = ((0.0, 0.0), (cell.w, 0.0), *(p for p in top if p[1] > 0.5))
    return replace(cell, h=max(y for _, y in top), rings=(ring,), material=PORCELAIN)


def box(x: float, y: float, w: float, h: float) -> Ring:
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def _all(places: Iterable[Address], change: Callable[[Cell], Cell]) -> dict[Address, Callable[[Cell], Cell]]:
    return dict.fromkeys(places, change)


CHANGES: dict[Address, Callable[[Cell], Cell]] = (
    _all(NOTCHED, _notched) | _all(VENTS, _vent) | _all(LAMPS, _lamp) | _all(OPENED, _opened) | _all(CURVED, _curved)
    | _all(UNREADABLE, _unreadable) | {at: _other(*what) for at, what in OTHERS.items()}
    | {NARROW: _wider(5.5), OVERLAP: _wider(20.0), NEAR_EDGE: _near_edge, HOPELESS: _hopeless}
)
