"""How many specimens the laboratory needs, from the panels of a run."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

INCH = 25.4
CONDITIONS, STONE_CONDITIONS = ("dry",), ("dry", "wet", "frost")  # EN 12371, EN 12372, ASTM C880 for natural stone


@dataclass(frozen=True)
class Specimens:
    """A line of the order: `count` specimens of side x side, drilled `hole_depth` deep from the rear (nan: not known)."""

    material: str
    thickness: float
    colour: str
    condition: str
    hole_depth: float
    count: int
    side: float
    basis: str

    @property
    def size(self) -> str:
        return f"{self.side:g} x {self.side:g} mm ({self.side / INCH:.0f} x {self.side / INCH:.0f} in)"


def specimen_order(material: Sequence[str], thickness: Sequence[float], colour: Sequence[str],
                   conditions: Sequence[Sequence[str]], hole_depth: Sequence[float], *, per_kind: int = 10,
                   most: int = 30, least: int = 5, side: float = 200.0) -> list[Specimens]:
    """One line for each material, thickness, hole depth, colour and condition among the panels.

    The arguments are columns of one length, a row a panel; thickness and hole depth in mm (tenths count), `conditions` the
    conditions each panel's material must be tested in.  `per_kind` specimens of a material, thickness and condition; twice as
    many with two colours, `most` from three on, shared among the colours, never fewer than `least` of each (ASTM C1354).
    Common practice, no source: 10 of 200 x 200 mm for each material and thickness, 20 to 30 where colours differ.
    """
    rows = zip(material, thickness, colour, conditions, hole_depth, strict=True)
    kinds: dict[tuple[str, float, float, str], dict[str, None]] = {}
    for m, t, c, wanted, depth in rows:
        for condition in dict.fromkeys(wanted or ("dry",)):
            key = (str(m), round(float(t), 1), _tenth(depth), str(condition))
            kinds.setdefault(key, {})[str(c)] = None
    return [line for key in sorted(kinds) for line in _lines(key, sorted(kinds[key]), per_kind, most, least, side)]


def order_rows(material: Sequence[str], thickness: Sequence[float], colour: Sequence[str], natural_stone: Sequence[bool],
               hole_depth: Sequence[float]) -> list[dict[str, Any]]:
    """The order as rows under headings with units, a row a line; None where a depth is not known.

    Natural stone is tested dry, wet and after frost, other materials dry.  Columns of one length, a row a panel, mm.
    """
    conditions = [STONE_CONDITIONS if stone else CONDITIONS for stone in natural_stone]
    return [{"material": x.material, "thickness_mm": x.thickness, "colour": x.colour, "condition": x.condition,
             "specimens": x.count, "size": x.size, "drilling_depth_mm": None if math.isnan(x.hole_depth) else x.hole_depth,
             "basis": x.basis} for x in specimen_order(material, thickness, colour, conditions, hole_depth)]


def _tenth(depth: float) -> float:
    """Unknown depths (nan) fall together as -1, which sorts and compares."""
    return -1.0 if math.isnan(depth) else round(float(depth), 1)


def _lines(key: tuple[str, float, float, str], colours: Sequence[str], per_kind: int, most: int, least: int,
           side: float) -> list[Specimens]:
    m, t, depth, condition = key
    total = min(per_kind * len(colours), most)
    each = max(-(-total // len(colours)), least)
    basis = f"{per_kind} for a material and thickness" if len(colours) == 1 else f"{each} of each of {len(colours)} colours"
    return [Specimens(m, t, c, condition, depth if depth >= 0 else float("nan"), each, side,
                      f"{basis} (common practice, no source)") for c in colours]
