"""Grid lines through the edges of an outline: a cell that an edge or a corner divides is a poor one."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely

from bimcheck.plate.hermite import Array

NARROWEST = 0.3  # cells: edges nearer than this to the last line get none of their own
STRAIGHT = 1e-5  # plate units: how far an edge may lean and still be followed by a line


def lines_along(polygon: shapely.Polygon, axis: int, cells: int) -> Array:
    """Grid lines through the edges of the outline that follow them, the cells between shared out as evenly as it goes."""
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
