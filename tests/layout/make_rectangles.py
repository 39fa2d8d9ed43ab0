"""Makes bimcheck/layout/data/rectangles.csv, the screen's table of grids on rectangles, from the plate engine.

    python -m tests.layout.make_rectangles

Everything is per area A of the rectangle: moments and reactions / A, deflections / A^2; insets are shares of the sides.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from bimcheck.layout.estimate import ASPECTS, INSETS, NU, PATTERNS, REFERENCE, TABLE
from bimcheck.layout.patterns import grid
from bimcheck.plate.points import solve_many
from bimcheck.plate.shape import build

HEADER = "nx,ny,aspect,fx,fy,m_field,w_max,slope,slope_length,moments and shares of the anchors of the lower left quadrant"


def quadrant(nx: int, ny: int) -> list[int]:
    """Positions, row by row, of the anchors of the lower left quadrant in a grid's list of anchors."""
    return [j * nx + i for j in range((ny + 1) // 2) for i in range((nx + 1) // 2)]


def rows(nx: int, ny: int, aspect: float) -> list[str]:
    """aspect = height / width; the rectangle has the area 1."""
    a, b = 1 / np.sqrt(aspect), np.sqrt(aspect)
    plate = build([np.array([[0, 0], [a, 0], [a, b], [0, b]])], NU)
    insets = [(fx, fy) for fx in INSETS for fy in INSETS]
    solved = solve_many(plate, [grid(a, b, nx, ny, fx * a, fy * b) for fx, fy in insets])
    moments, lines = solved.anchor_moment(REFERENCE), []
    for i, (fx, fy) in enumerate(insets):
        part = slice(*solved.offsets[i : i + 2])
        reaction, moment = solved.reaction[part], moments[part]
        numbers = [aspect, fx, fy, solved.m_field[i], solved.w_max[i], solved.slope[i], solved.slope_length[i]]
        anchors = " ".join(f"{v:.4g}" for values in (moment, reaction) for v in values[quadrant(nx, ny)])
        lines.append(f"{nx},{ny}," + ",".join(f"{v:.4g}" for v in numbers) + "," + anchors)
    return lines


def main() -> None:
    lines = [HEADER]
    for nx, ny in PATTERNS:
        for aspect in ASPECTS:
            lines += rows(nx, ny, aspect)
    Path(TABLE).write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
