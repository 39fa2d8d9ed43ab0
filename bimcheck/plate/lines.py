"""Grid lines through the edges of an outline: a cell that an edge or a corner divides is a poor one."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.plate.hermite import Array

NARROWEST = 0.3  # cells: edges nearer than this to the last line get none of their own
SPLIT = 0.25  # of a cell beside a re-entrant corner: where a line more divides it
STRAIGHT = 1e-5  # plate units: how far an edge may lean and still be followed by a line


def lines_along(polygon: shapely.Polygon, axis: int, cells: int, sharp: Array) -> Array:
    """Grid lines through the edges of the outline that follow them, the cells between shared out as evenly as it goes;
    those beside re-entrant corners, at `sharp` (k,) along the axis, divided once more."""
    return _finer(_evenly(polygon, axis, cells), np.unique(np.round(sharp, 9)))


def _finer(lines: Array, sharp: Array) -> Array:
    """A line more a quarter into the cell on either side of each corner; where a corner lies within a cell, about it."""
    lower = np.clip(np.searchsorted(lines, sharp, side="right") - 1, 0, len(lines) - 2)
    on = np.abs(sharp - lines[lower]) < STRAIGHT
    cells = np.diff(lines)
    above = np.where(on, lines[lower] + SPLIT * cells[lower], sharp + SPLIT * cells[lower])
    below = np.where(on, lines[lower] - SPLIT * cells[lower - 1], sharp - SPLIT * cells[lower])
    new = np.concatenate([above, below])
    return np.unique(np.concatenate([lines, new[_apart(new, lines)]]))


def _apart(new: Array, lines: Array) -> NDArray[np.bool_]:
    """New lines within the grid that leave no sliver beside an old one or a new one before them."""
    kept: list[float] = []
    flags = np.zeros(len(new), dtype=bool)
    least = 0.6 * SPLIT * np.diff(lines).mean()
    for k, x in enumerate(new.tolist()):
        flags[k] = lines[0] < x < lines[-1] and min(np.abs(lines - x).min(), *(abs(x - y) for y in kept), np.inf) > least
        kept += [x] if flags[k] else []
    return flags


def _evenly(polygon: shapely.Polygon, axis: int, cells: int) -> Array:
    stops = _edges_across(polygon, axis)
    h = (stops[-1] - stops[0]) / cells
    far = np.concatenate([[True], np.diff(stops) > NARROWEST * h])
    far &= (stops == stops[0]) | (stops[-1] - stops > NARROWEST * h)
    stops = np.append(stops[far], stops[-1])
    share = np.diff(stops) / h
    count = np.maximum(np.round(share).astype(int), 1)
    off_middle = 1e-6 * np.abs(np.arange(len(count)) - (len(count) - 1) / 2)  # keeps most symmetric outlines so
    while count.sum() != cells:  # a few steps at most: give to, or take from, where it changes the cells least
        change = int(np.sign(cells - count.sum()))
        cost = np.abs(np.log((count + change).clip(0.1) / share)) + off_middle
        count[np.argmin(np.where(count + change > 0, cost, np.inf))] += change
    pieces = [np.linspace(a, b, n, endpoint=False) for (a, b), n in zip(pairwise(stops), count, strict=True)]
    return np.append(np.concatenate(pieces), stops[-1])


def _edges_across(polygon: shapely.Polygon, axis: int) -> Array:
    """Where edges at right angles to the axis lie, with the ends of the polygon."""
    places = [np.array(polygon.bounds[axis::2])]
    for ring in (polygon.exterior, *polygon.interiors):
        points = np.asarray(ring.coords)[:, axis]
        places.append(points[:-1][np.abs(np.diff(points)) < STRAIGHT])
    return np.unique(np.round(np.concatenate(places), 9))
