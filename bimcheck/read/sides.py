"""Bodies whose two faces are not parallel: read from the face that is flush with flat plates around."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.found import PLATE, Found, Odd

Floats = NDArray[Any]  # of float64
FLUSH = 1.0  # mm
ALIGNED = 1 - 1.5e-6  # cosine of 0.1 degrees


def choose_faces(found: Found, matrices: Floats) -> None:
    """`found` in world coordinates but for its `other` readings, which are brought there and chosen where they fit better."""
    flat = np.flatnonzero((found.state == PLATE) & (found.form == "flat"))
    planes = _planes(found, flat)
    for row, odd in found.other.items():
        turn = matrices[row, :3, :3]
        other = Odd(odd.form, turn @ odd.origin + matrices[row, :3, 3], turn @ odd.u, turn @ odd.v, turn @ odd.n, odd.thickness,
                    odd.thickness_max, odd.outline, odd.back, odd.sagitta)
        if _flush(planes, other.n, other.origin) > _flush(planes, found.n[row], found.origin[row]):
            found.put_odd(row, other)
    found.other.clear()


def _planes(found: Found, flat: NDArray[np.int64]) -> tuple[Floats, Floats, Floats]:
    """Both faces of all flat plates: normals and points."""
    n, front = found.n[flat], found.origin[flat]
    return n, front, front - found.thickness[flat, None] * n


def _flush(planes: tuple[Floats, Floats, Floats], n: Floats, point: Floats) -> float:
    """How many flat plates have a face in this plane, and, behind the comma, how many are parallel to it."""
    normals, front, back = planes
    if not len(normals):
        return 0.0
    parallel = np.abs(normals @ n) > ALIGNED
    level = np.minimum(np.abs((front - point) @ n), np.abs((back - point) @ n))
    return float(np.sum(parallel & (level < FLUSH)) + np.sum(parallel) / (len(normals) + 1))
