"""What is alike is looked at once: bodies of one shape, and places along a bar that runs on."""

from __future__ import annotations

import numpy as np

from bimcheck.clash.kinds import kinds
from bimcheck.clash.placed import Placed
from bimcheck.clash.places import Floats, Ints

GRAIN = 1e-5  # mm; what differs by less is alike


def alike(placed: Placed, slot: Ints, at: Floats, half: tuple[float, float]) -> tuple[Ints, Ints]:
    """First of each kind of pair of body and place (3, k), and the kind of every pair: one shape, seen from one place of it.
    half: of the zones, to tell places between the ends of a bar."""
    used, index = np.unique(slot, return_inverse=True)
    shape, even = _shapes(placed, used)
    low, high = placed.low[:, slot], placed.high[:, slot]
    away = np.round((at - low) / GRAIN)
    for k in (0, 1):
        between = even[k][index] & (at[k] - half[k] > low[k]) & (at[k] + half[k] < high[k])
        away[k][between] = -1e15  # wherever between the ends, the section is the same
    return kinds(np.column_stack([shape[index].astype(float), *away]))


def _shapes(placed: Placed, rows: Ints) -> tuple[Ints, tuple[np.ndarray, np.ndarray]]:
    """Number of each body's shape (by 64 bits of its corners, counted from its least ones); and whether it is a bar along x,
    along y."""
    triangle, owner = placed.triangles(rows)
    lengths = np.diff(placed.offsets)[rows]
    starts = np.cumsum(lengths) - lengths
    within = np.arange(len(triangle)) - starts[owner]
    key = np.zeros(len(triangle), dtype=np.uint64)
    corners = placed.corners(triangle) - placed.low[:, rows[owner]]
    for corner in range(3):
        for k in range(3):
            grains = np.round(corners[corner, k] / GRAIN).astype(np.int64).astype(np.uint64)
            key += _mixed(9 * within + 3 * corner + k) * grains
    whole = np.add.reduceat(key, starts) if len(rows) else key
    _, shape = np.unique(np.column_stack([whole, lengths.astype(np.uint64)]), axis=0, return_inverse=True)
    size = (placed.high - placed.low)[:, rows[owner]]
    even = [np.logical_and.reduceat(_of_a_bar(corners, size, k), starts) if len(rows) else np.zeros(0, dtype=bool) for k in (0, 1)]
    return shape.ravel(), (even[0], even[1])


def _of_a_bar(corners: Floats, size: Floats, k: int) -> np.ndarray:
    """Which triangles (3 corners, 3 coordinates, m) are those of a bar along k: in one of its ends, or along it from end
    to end (seen along it a line)."""
    near, far = corners[:, k] <= GRAIN, corners[:, k] >= size[k] - GRAIN
    i, j = ((1, 2), (2, 0))[k]
    a, b, c = corners[:, [i, j]]
    area = np.abs((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0])
    longest = np.maximum(np.abs(b - a), np.abs(c - a)).max(axis=0)
    return near.all(axis=0) | far.all(axis=0) | ((near | far).all(axis=0) & (area <= GRAIN * longest))


def _mixed(number: Ints) -> np.ndarray:
    """Well spread odd multipliers of 64 bits (the finishing steps of splitmix64)."""
    z = (number.astype(np.uint64) + np.uint64(1)) * np.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return (z ^ (z >> np.uint64(31))) | np.uint64(1)
