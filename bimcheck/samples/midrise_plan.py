"""The grid of the invented mid-rise: an L-shaped plan, piers and window bays, rows by storey; all lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bimcheck.samples.bodies import Ring
from bimcheck.samples.sides import Side, sides_of

JOINT = 8.0
RETURN = 38.0  # where a side starts behind the edge of its neighbour: greatest thickness and a joint
CAVITY = 50.0  # rear face to front of the rails
BAY = 2400.0
CORNERS = ((0.0, 0.0), (18000.0, 0.0), (18000.0, 9000.0), (9000.0, 9000.0), (9000.0, 15000.0), (0.0, 15000.0))
BAYS = (5, 2, 2, 1, 2, 4)
PORCELAIN, GRANITE, CEMENT = "Porcelain stoneware", "Granite, flamed", "Fibre cement board"
THICKNESS = {PORCELAIN: 12.0, GRANITE: 30.0, CEMENT: 12.0}
YARD = (2, 3)  # the sides that meet in the re-entrant corner: fibre cement, half as wide
GROUND, UPPER, PARAPET = (900.0, 1200.0, 1200.0, 900.0), (900.0, 1700.0, 900.0), (700.0,)
STOREYS = 8
BASE_STOREYS = 2
ROOF = STOREYS
GABLE = (4, 1400.0)  # side and height of the gable above its parapet
SIDES: tuple[Side, ...] = tuple(sides_of(CORNERS))
Address = tuple[int, int, int, int, int]


@dataclass(frozen=True)
class Column:
    """A pier or a window bay of a side."""

    u: float
    w: float
    bay: bool


@dataclass(frozen=True)
class Cell:
    """A panel: address (side, storey, row, column, part), place on its side, body and material.

    rings: outline and cut-outs other than round ones, in the panel's frame; None for the whole rectangle.
    circles: round cut-outs (x, y, r).  opening: (x, y, w, h) cut by an opening element.  bulge: of a curved panel.
    reason: why it is not a panel to be checked; blank where it is.
    """

    at: Address
    mark: str
    u: float
    v: float
    w: float
    h: float
    t: float
    material: str
    cls: str
    rings: tuple[Ring, ...] | None = None
    circles: tuple[tuple[float, float, float], ...] = ()
    opening: tuple[float, float, float, float] | None = None
    bulge: float = 0.0
    reason: str = ""


def rows_of(storey: int) -> tuple[float, ...]:
    """Pitches of the panel rows of a storey."""
    return GROUND if storey == 0 else PARAPET if storey == ROOF else UPPER


def is_window_row(storey: int, row: int) -> bool:
    return row in (1, 2) if storey == 0 else row == 1 and storey != ROOF


def elevation(storey: int) -> float:
    return sum(sum(rows_of(k)) for k in range(storey))


def columns_of(side: int) -> list[Column]:
    """Piers and bays in turn; the piers share what the bays leave."""
    s, bays = SIDES[side], BAYS[side]
    start = RETURN if s.starts_external else JOINT
    end = 0.0 if s.ends_external else JOINT
    pier = (s.length - start - end + JOINT - bays * BAY) // ((bays + 1) / 2) / 2  # to half a millimetre
    columns, u = [], start
    for k in range(2 * bays + 1):
        pitch = BAY if k % 2 else pier
        columns.append(Column(u, pitch - JOINT, bool(k % 2)))
        u += pitch
    return columns


def base_material(side: int, storey: int) -> str:
    return GRANITE if storey < BASE_STOREYS else CEMENT if side in YARD else PORCELAIN


def base_class(side: int, storey: int) -> str:
    if storey < BASE_STOREYS:
        return "IfcCovering"
    return "IfcBuildingElementProxy" if side == YARD[1] else "IfcPlate"


def cells() -> Iterator[Cell]:
    """Every panel of the plain grid, marked in order by side and storey."""
    for side in range(len(SIDES)):
        for storey in range(STOREYS + 1):
            for k, (at, u, v, w, h) in enumerate(_places(side, storey), 1):
                material = base_material(side, storey)
                mark = f"P-{SIDES[side].name}-{storey:02d}-{k:02d}"
                yield Cell(at, mark, u, v, w, h, THICKNESS[material], material, base_class(side, storey))


def _places(side: int, storey: int) -> Iterator[tuple[Address, float, float, float, float]]:
    v = 0.0
    for row, pitch in enumerate(rows_of(storey)):
        for c, column in enumerate(columns_of(side)):
            if not (column.bay and is_window_row(storey, row)):
                for part, (u, w) in enumerate(_split(column, 2 if base_material(side, storey) == CEMENT else 1)):
                    yield (side, storey, row, c, part), u, v, w, pitch - JOINT
        v += pitch
    if storey == ROOF and side == GABLE[0]:
        for c, column in enumerate(columns_of(side)):
            yield (side, storey, 1, c, 0), column.u, v, column.w, GABLE[1]


def _split(column: Column, parts: int) -> list[tuple[float, float]]:
    width = (column.w - JOINT * (parts - 1)) / parts
    return [(column.u + k * (width + JOINT), width) for k in range(parts)]


def gable_ends() -> tuple[float, float, float]:
    """Left end, right end and apex of the gable along its side."""
    columns = columns_of(GABLE[0])
    low, high = columns[0].u, columns[-1].u + columns[-1].w
    return low, high, (low + high) / 2


def gable_height(u: float) -> float:
    """Height of the gable at u above the parapet's panels and the joint on them."""
    low, high, apex = gable_ends()
    return GABLE[1] * max(0.0, 1.0 - 2 * abs(u - apex) / (high - low))
