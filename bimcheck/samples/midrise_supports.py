"""Rails, vertical profiles and brackets of the mid-rise: where rows of anchors can hang; all lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bimcheck.samples.midrise_plan import (
    CAVITY,
    CEMENT,
    GABLE,
    ROOF,
    SIDES,
    STOREYS,
    THICKNESS,
    Cell,
    Column,
    base_material,
    columns_of,
    gable_ends,
    is_window_row,
    rows_of,
)
from bimcheck.samples.midrise_specials import FALL, FALLING, STRAY, STRAY_DEPTH, STRAY_GAP

RAIL = (40.0, 30.0)  # height, depth
PROFILE = (60.0, 60.0)  # width, depth
BRACKET = (80.0, 120.0)  # width, height
WALL = 320.0  # front of the wall behind the front of the panels
TALL = 1500.0  # panels as high as this have more than two rails, fibre cement one more than the others
RAIL_SHARES = {2: (0.2, 0.8), 3: (0.14, 0.5, 0.86), 4: (0.1, 0.37, 0.63, 0.9)}  # heights of the rails over the panel's
CLEAR = 380.0  # first profile from an external corner, past the brackets of the side before
CORNER = 120.0  # rails stop short of an external corner, so that those of two sides do not meet


@dataclass(frozen=True)
class Part:
    """A box of the substructure, its lower left front corner at u, v and `depth` behind the front."""

    side: int
    storey: int
    kind: str
    u: float
    v: float
    depth: float
    w: float
    h: float
    t: float


def parts(panels: list[Cell]) -> Iterator[Part]:
    """Everything that carries the panels, side by side."""
    taken = {c.at[:4] for c in panels}
    for side in range(len(SIDES)):
        for storey in range(STOREYS + 1):
            yield from _rails(side, storey, taken)
            yield from _profiles(side, storey)
    yield _stray(next(c for c in panels if c.at == STRAY))


def _front(side: int, storey: int) -> float:
    """Front of the rails."""
    return THICKNESS[base_material(side, storey)] + CAVITY


def _rails(side: int, storey: int, taken: set[tuple[int, int, int, int]]) -> Iterator[Part]:
    v = 0.0
    for row, pitch in enumerate(rows_of(storey)):
        present = [(side, storey, row, c) in taken or (storey > 0 and row == 0) for c in range(len(columns_of(side)))]
        for u0, u1 in _runs(side, present, broken=is_window_row(storey, row)):
            for height in _heights(side, storey, pitch - 8.0):
                yield _rail(side, storey, u0, u1, v + height)
        v += pitch
    if storey == ROOF and side == GABLE[0]:
        yield from _gable_rails(side, v)


def _rail(side: int, storey: int, u0: float, u1: float, axis: float) -> Part:
    return Part(side, storey, "rail", u0, axis - RAIL[0] / 2, _front(side, storey), u1 - u0, *RAIL)


def _heights(side: int, storey: int, h: float) -> list[float]:
    """Axes of the rails of a row; below a falling coping the upper one is lower."""
    if storey == ROOF and side == FALLING:
        return [float(round(RAIL_SHARES[2][0] * h)), h - FALL - 90.0]
    count = 2 if h < TALL else 4 if base_material(side, storey) == CEMENT else 3
    return [float(round(share * h)) for share in RAIL_SHARES[count]]


def _runs(side: int, present: list[bool], broken: bool) -> Iterator[tuple[float, float]]:
    """From where to where rails run: along columns that are there, or each by itself between windows."""
    columns, s = columns_of(side), SIDES[side]
    run: list[Column] = []
    for k, column in enumerate(columns):
        if present[k]:
            run.append(column)
        if run and (broken or not present[k] or k == len(columns) - 1):
            yield _ends(run, s.starts_external and run[0] is columns[0], s.ends_external and run[-1] is columns[-1], s.length)
            run = []


def _ends(run: list[Column], at_start: bool, at_end: bool, length: float) -> tuple[float, float]:
    start, stop = run[0].u, run[-1].u + run[-1].w
    return max(start, CORNER) if at_start else start, min(stop, length - CORNER) if at_end else stop


def _gable_rails(side: int, v: float) -> Iterator[Part]:
    """Shorter and shorter ones below the verges."""
    low, high, _ = gable_ends()
    for axis in (80.0, 250.0, 480.0, 800.0):
        cut = (high - low) / 2 * (axis + 60.0) / GABLE[1]
        yield _rail(side, ROOF, max(low + cut, CORNER), min(high - cut, high - CORNER), v + axis)


def _profiles(side: int, storey: int) -> Iterator[Part]:
    """Two vertical profiles behind each pier, held at the slab above and at half height."""
    depth = _front(side, storey) + RAIL[1]
    height = sum(rows_of(storey)) - FALL * (storey == ROOF and side == FALLING) - 20.0
    held = (height / 2, height - 180.0) if storey < ROOF else (height / 2,)
    for column in columns_of(side):
        if not column.bay:
            for u in (max(column.u + 0.15 * column.w, CLEAR if SIDES[side].starts_external else 0.0), column.u + 0.83 * column.w):
                yield Part(side, storey, "profile", round(u - PROFILE[0] / 2), 10.0, depth, PROFILE[0], height - 20.0, PROFILE[1])
                for v in held:
                    yield _bracket(side, storey, u, round(v), depth + PROFILE[1], WALL)


def _bracket(side: int, storey: int, u: float, v: float, front: float, back: float) -> Part:
    return Part(side, storey, "bracket", round(u - BRACKET[0] / 2), v, front, *BRACKET, back - front)


def _stray(cell: Cell) -> Part:
    """The planted one: over the lower rail, wherever the lower left anchor could be."""
    axis = cell.v + _heights(cell.at[0], cell.at[1], cell.h)[0]
    return Part(cell.at[0], cell.at[1], "bracket", cell.u + 40.0, axis - 70.0, cell.t + STRAY_GAP, 320.0, 140.0, STRAY_DEPTH)
