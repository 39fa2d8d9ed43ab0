"""Unique outlines under translation, turn and mirror."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from bimcheck.core.tables import Ragged, Table
from bimcheck.relate.facts import Floats, Ints, table_of
from bimcheck.relate.joints import rectangular

DIGIT = 1  # decimals of a mm to which outlines are one shape


def find_shapes(outline: Ragged) -> tuple[Ints, Ints, Table]:
    """shape (n,) row of the shapes table, turn (n,), and the table (outline, width, height).

    turn t: the shape is the outline mirrored in x where t >= 4, then turned counter-clockwise by (t % 4) quarters,
    then shifted into its rectangle.  Rectangles come first, by size; they stand upright.
    """
    plain = rectangular(outline) if len(outline) else np.zeros(0, bool)
    shape, turn = np.full(len(outline), -1), np.zeros(len(outline), dtype=np.int64)
    flat = np.flatnonzero(plain)
    size = np.round(_sizes(outline)[flat, :2], DIGIT)
    upright, shape[flat] = np.unique(np.sort(size, axis=1), axis=0, return_inverse=True)
    turn[flat] = size[:, 0] > size[:, 1]
    rings = [np.array([[0, 0, 0], [w, 0, 0], [w, h, 0], [0, h, 0]]) for w, h in upright]
    other = np.flatnonzero(~plain)
    if len(other):
        row, turn[other], more = _others(outline.take(other))
        shape[other] = row + len(rings)
        rings += more
    table = np.array([r[:, :2].max(axis=0) for r in rings]).reshape(-1, 2)
    return shape, turn, table_of("shapes", width=table[:, 0], height=table[:, 1], outline=Ragged.of(rings, (3,)))


def _sizes(outline: Ragged) -> Floats:
    """(n, 3) greatest x, y (and ring number) of every outline."""
    return np.maximum.reduceat(outline.values, outline.offsets[:-1], axis=0) if len(outline) else np.zeros((0, 3))


def _others(outline: Ragged) -> tuple[Ints, Ints, list[Floats]]:
    rounded = np.round(outline.values, DIGIT) + 0.0
    keys = [rounded[a:b].tobytes() for a, b in pairwise(outline.offsets)]
    distinct = {key: k for k, key in enumerate(dict.fromkeys(keys))}
    row = np.array([distinct[k] for k in keys], dtype=np.int64)
    firsts = np.unique(row, return_index=True)[1]
    canon = [_canonical(rounded[outline.offsets[f]:outline.offsets[f + 1]]) for f in firsts]
    shapes = {c: k for k, c in enumerate(sorted({c[0] for c in canon}))}
    shape = np.array([shapes[c[0]] for c in canon], dtype=np.int64)[row]
    turn = np.array([c[1] for c in canon], dtype=np.int64)[row]
    return shape, turn, [np.array(s) for s in shapes]


def _canonical(outline: Floats) -> tuple[tuple[tuple[float, ...], ...], int]:
    """The least of the eight positions of an outline, and which it is."""
    return min((_ordered(_moved(outline, t)), t) for t in range(8))


def _moved(outline: Floats, turn: int) -> Floats:
    xy = outline[:, :2] * (np.array([-1.0, 1.0]) if turn >= 4 else 1.0)
    for _ in range(turn % 4):
        xy = np.column_stack([-xy[:, 1], xy[:, 0]])
    xy = np.round(xy - xy[outline[:, 2] == 0].min(axis=0), DIGIT) + 0.0
    moved = np.column_stack([xy, outline[:, 2]])
    return moved[::-1] if turn >= 4 else moved


def _ordered(outline: Floats) -> tuple[tuple[float, ...], ...]:
    """Rings begun at their least vertex, cut-outs in order, numbered anew."""
    rings = []
    for k in np.unique(outline[:, 2]):
        points = [tuple(p) for p in outline[outline[:, 2] == k, :2].tolist()]
        start = points.index(min(points))
        rings.append(points[start:] + points[:start])
    rings[1:] = sorted(rings[1:])
    return tuple((*p, float(k)) for k, ring in enumerate(rings) for p in ring)
