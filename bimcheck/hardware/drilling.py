"""How a hole's depth is set: from the rear face, or from the front face with a recess that evens out the lot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.hardware.lengths import counterbore_depth

FROM_FRONT = "polished-ungauged"
HOLDS = {"front": "clamped from the front", "rear": "vacuum on the rear"}  # the set-up that goes with a reference face


@dataclass(frozen=True)
class Recess:
    """Of every panel (n,): recess in mm at its least and at its greatest thickness, least thickness of the lot where depth
    is set from the front face (nan elsewhere), and whether the lot was measured, so that the recess is known."""

    least: Array
    greatest: Array
    t_lot: Array
    known: NDArray[np.bool_]

    @property
    def set(self) -> Array:
        """(n,) depth of the recess as it is drilled; nan where it is found on site."""
        return np.where(self.known, self.greatest, np.nan)


def recess(panels: Table) -> Recess:
    """The flat recess t - t_min of the lot.

    Reads face, lot, measured, t_min, t_max.  A lot that was not measured has no known thinnest panel: strength then counts
    with the least thickness by tolerance and no recess (the recess never takes more than what is above it), and the
    greatest recess is what the tolerance allows.
    """
    front = np.asarray(panels["face"] == FROM_FRONT, dtype=bool)
    known = np.asarray(panels["measured"], dtype=bool)
    t_lot = np.where(front, _least_of_lot(np.asarray(panels["lot"], dtype=str), panels["t_min"], front), np.nan)
    least = np.where(known, counterbore_depth(panels["t_min"], t_lot, front), 0.0)
    return Recess(least, counterbore_depth(panels["t_max"], t_lot, front), t_lot, known | ~front)


def _least_of_lot(lot: NDArray, t: Array, rows: NDArray[np.bool_]) -> Array:
    lots, at = np.unique(lot, return_inverse=True)
    least = np.full(len(lots), np.inf)
    np.minimum.at(least, at.ravel()[rows], np.nan_to_num(t[rows], nan=np.inf))
    return least[at.ravel()]


def instructions(of: Recess, hole_depth: Array, limit: float, set_up: str = "", machine: str = "") -> NDArray:
    """(n,) text for the drilling data: from which face depth is set, the recess, and the set-up of the shop."""
    shop = "".join(f"; {s}" for s in (set_up, machine) if s)
    facts = np.round(np.column_stack([of.least, of.greatest, of.t_lot, of.t_lot - hole_depth, of.known]), 3)
    rows, index = np.unique(facts, axis=0, return_inverse=True) if len(facts) else (facts, np.empty(0, dtype=np.int64))
    return np.array([f"{_told(row, limit)}{shop}" for row in rows], dtype=object)[index.ravel()]


def _told(row: Array, limit: float) -> str:
    least, greatest, t_lot, residual, known = row.tolist()
    if np.isnan(t_lot):
        return "depth from the rear face"
    if not known:
        return (f"depth from the front face, set for the thinnest panel of the lot; recess on site by measured thickness, 0 to {greatest:.1f} mm by tolerance"
                + (f": sort lots so that none is more than {limit:g} mm thicker than its thinnest" if greatest > limit else ""))
    span = f"{least:.1f} mm" if greatest - least < 0.05 else f"{least:.1f} to {greatest:.1f} mm as the thickness at the hole"
    told = f", recess {span}" if greatest >= 0.05 else ""
    return f"depth from the front face, hole ends {residual:.1f} mm behind it (lot from {t_lot:.1f} mm){told}"


def conflict(face: str, set_up: str) -> str:
    """A caution where the shop's set-up references the other face than the one depth is set from; else blank."""
    side = "front" if face == FROM_FRONT else "rear"
    if set_up in HOLDS.values() and set_up != HOLDS[side]:
        return f"depth is set from the {side} face, but the set-up is '{set_up}': confirm how the machine references the {side} face"
    return ""
