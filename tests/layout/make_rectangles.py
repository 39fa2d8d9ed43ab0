"""Makes bimcheck/layout/data/rectangles.npz, the screen's table of grids on rectangles, from the plate engine.

    python -m tests.layout.make_rectangles

Everything is per area A of the rectangle: moments, reactions and softness D / k over A, deflections over A^2; insets are
shares of the sides.
"""

from __future__ import annotations

import io
import zipfile

import numpy as np

from bimcheck.layout.estimate import ASPECTS, INSETS, NU, PATTERNS, REFERENCE, TABLE, softness_nodes
from bimcheck.layout.patterns import grid, name
from bimcheck.plate.points import solve_many
from bimcheck.plate.shape import build


def quadrant(nx: int, ny: int) -> list[int]:
    """Positions, row by row, of the anchors of the lower left quadrant in a grid's list of anchors."""
    return [j * nx + i for j in range((ny + 1) // 2) for i in range((nx + 1) // 2)]


def block(nx: int, ny: int, aspect: float, softness: float) -> np.ndarray:
    """(insets, insets, q) of a rectangle of area 1 with height / width = aspect."""
    a, b = 1 / np.sqrt(aspect), np.sqrt(aspect)
    plate = build([np.array([[0, 0], [a, 0], [a, b], [0, b]])], NU)
    layouts = [grid(a, b, nx, ny, fx * a, fy * b) for fx in INSETS for fy in INSETS]
    solved = solve_many(plate, layouts, spring=1 / softness if softness else np.inf)
    few = quadrant(nx, ny)
    moments = solved.anchor_moment(REFERENCE).reshape(len(layouts), -1)[:, few]
    shares = solved.reaction.reshape(len(layouts), -1)[:, few]
    whole = np.column_stack([solved.m_field, solved.w_max, solved.slope * solved.slope_length, moments, shares])
    return whole.reshape(len(INSETS), len(INSETS), -1)


def main() -> None:
    with zipfile.ZipFile(TABLE, "w", zipfile.ZIP_DEFLATED) as file:
        for nx, ny in PATTERNS:
            values = [[block(nx, ny, r, s) for r in ASPECTS] for s in softness_nodes((nx, ny))]
            buffer = io.BytesIO()
            np.save(buffer, np.array(values, dtype=np.float32))
            file.writestr(zipfile.ZipInfo(name(nx, ny) + ".npy"), buffer.getvalue(), zipfile.ZIP_DEFLATED)  # no clock in it


if __name__ == "__main__":
    main()
