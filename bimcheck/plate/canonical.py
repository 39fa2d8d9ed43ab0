"""One form for outlines that differ by where they lie, how they are turned (by quarter turns) or mirrored.

A thin plate under pressure does not know the difference, so shapes of one form share every solution.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from bimcheck.core.errors import InputError
from bimcheck.plate.hermite import Array

STEP = 0.1  # mm, to which outlines and anchors are rounded
_TURN = np.array([[0, -1], [1, 0]])
_MIRROR = np.array([[-1, 0], [0, 1]])
MOVES = np.stack([np.linalg.matrix_power(_TURN, k) @ m for m in (np.eye(2, dtype=int), _MIRROR) for k in range(4)])

Key = tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Canonical:
    """rings: the canonical outline, then cut-outs, in mm from the lower-left corner.  key: the same in steps.
    matrix (2, 2), offset (2,): canonical = matrix @ point + offset."""

    rings: tuple[Array, ...]
    key: Key
    matrix: Array
    offset: Array

    def to(self, points: Array) -> Array:
        """Points (..., 2) of the outline as given -> of the canonical one."""
        return np.asarray(points) @ self.matrix.T + self.offset

    def back(self, points: Array) -> Array:
        """Points of the canonical outline -> of the one given."""
        return (np.asarray(points) - self.offset) @ self.matrix


def canonical(rings: Sequence[Array]) -> Canonical:
    """The canonical form of an outline (first ring) with cut-outs, rings (k, 2) in mm, not closed."""
    if not all(np.all(np.isfinite(ring)) for ring in rings):
        raise InputError("an outline with points that are no numbers", "plate", "correct the panel's outline")
    steps = [_clean(np.rint(np.asarray(ring, dtype=float) / STEP).astype(int).tolist()) for ring in rings]
    key, best = _box(steps) or min((_key(steps, move), k) for k, move in enumerate(MOVES.tolist()))
    matrix = MOVES[best].astype(float)
    offset = -(np.asarray(rings[0], dtype=float) @ matrix.T).min(axis=0)
    back = tuple(np.array(ring, dtype=float).reshape(-1, 2) * STEP for ring in key)
    return Canonical(back, key, matrix, offset)


def _box(rings: Sequence[Sequence[Sequence[int]]]) -> tuple[Key, int] | None:
    """Key and move of a rectangle along the axes, the commonest outline, found without trying all moves; else None."""
    if len(rings) != 1 or len(rings[0]) != 4:
        return None
    (a, b), _, (c, d), _ = rings[0]
    if {(x, y) for x, y in rings[0]} != {(a, b), (c, b), (c, d), (a, d)}:
        return None
    (w, h), best = ((abs(c - a), abs(d - b)), 0) if abs(c - a) <= abs(d - b) else ((abs(d - b), abs(c - a)), 1)
    return ((0, 0, w, 0, w, h, 0, h),), best


def _key(rings: Sequence[Sequence[Sequence[int]]], move: Sequence[Sequence[int]]) -> Key:
    """Plain integers: rings are short, and there are eight moves of thousands of them."""
    if not all(rings):
        raise InputError("an outline without extent", "plate", "correct the panel's outline")
    (a, b), (c, d) = move
    turned = [[(a * x + b * y, c * x + d * y) for x, y in ring] for ring in rings]
    left, low = min(x for x, _ in turned[0]), min(y for _, y in turned[0])
    outer, *holes = (_ring([(x - left, y - low) for x, y in ring]) for ring in turned)
    return (outer, *sorted(holes))


def _clean(ring: list[list[int]]) -> list[list[int]]:
    """Without the points that repeat one or lie on the line between their neighbours."""
    size = 0
    while size != len(ring) > 0:
        size = len(ring)
        ring = [b for a, b in zip([ring[-1], *ring[:-1]], ring, strict=True) if a != b]
        around = zip([*ring[-1:], *ring[:-1]], ring, [*ring[1:], *ring[:1]], strict=True)
        ring = [b for a, b, c in around if (b[0] - a[0]) * (c[1] - b[1]) != (b[1] - a[1]) * (c[0] - b[0])]
    return ring


def _ring(ring: list[tuple[int, int]]) -> tuple[int, ...]:
    """Counter-clockwise from the lowest corner, as flat integers."""
    ahead = ring[1:] + ring[:1]
    if sum(x * q - p * y for (x, y), (p, q) in zip(ring, ahead, strict=True)) < 0:
        ring = ring[::-1]
    first = min(range(len(ring)), key=lambda k: (ring[k][1], ring[k][0]))
    return tuple(v for point in ring[first:] + ring[:first] for v in point)


def canonical_forms(outlines: Iterable[Sequence[Array]]) -> list[Canonical]:
    """The canonical form of each of many outlines; outlines that differ only by where they lie are turned once."""
    known: dict[tuple[bytes, ...], Canonical] = {}
    forms = []
    for rings in outlines:
        corner = np.asarray(rings[0], dtype=float).min(axis=0)
        local = [np.asarray(ring, dtype=float) - corner for ring in rings]
        key = tuple(np.rint(ring / STEP).astype(np.int64).tobytes() for ring in local)
        form = known.get(key)
        if form is None:
            form = known[key] = canonical(local)
        forms.append(Canonical(form.rings, form.key, form.matrix, form.offset - form.matrix @ corner))
    return forms
