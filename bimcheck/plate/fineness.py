"""How fine a grid a layout needs: its smallest disc must span about a cell (24 cells else, 32 where the outline cuts).

Measured against 144 cells: with cells up to 1.1 times the distance to the nearest edge or other anchor the anchor
moment is within 0.5 %, with 2 times it is up to 7 % low.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from bimcheck.plate.edges import box_distance, edge_distance, is_box
from bimcheck.plate.hermite import Array, Index
from bimcheck.plate.response import nearest_other
from bimcheck.plate.shape import CELLS, CELLS_CUT

STEPS = np.array([CELLS, CELLS_CUT, 48, 64])  # grids in use; beyond the last the solution is flagged coarse
LARGEST_CELL = 1.1  # over the distance to the nearest edge or other anchor


def cells_for(rings: Sequence[Array], layouts: Sequence[Array]) -> Index:
    """(m,) cells along the longest side for each layout of anchors (n, 2); rings and anchors in mm."""
    polygon = shapely.Polygon(rings[0], rings[1:])
    counts = np.array([len(a) for a in layouts], dtype=np.int64)
    anchors = np.concatenate([np.empty((0, 2)), *(np.reshape(a, (-1, 2)) for a in layouts)])
    size = np.full(len(counts), np.ptp(np.asarray(rings[0], dtype=float), axis=0).max())
    chosen = _chosen(size, counts, anchors, edge_distance(polygon, anchors))
    return chosen if is_box(polygon) else np.maximum(chosen, CELLS_CUT)


def cells_in_boxes(sizes: Array, counts: Index, anchors: Array) -> Index:
    """(m,) the same for layouts on rectangles with sides (m, 2), a corner at 0, 0; counts (m,) of anchors (k, 2)."""
    owner = np.repeat(np.arange(len(counts)), counts)
    return _chosen(sizes.max(axis=1, initial=0.0), counts, anchors, box_distance(sizes[owner], anchors))


def _chosen(size: Array, counts: Index, anchors: Array, edge: Array) -> Index:
    """Cells from the longest side (m,) of each layout's plate and the distance of its anchors to the edge."""
    owner = np.repeat(np.arange(len(counts)), counts)
    room = np.minimum(np.abs(edge), nearest_other(anchors, counts, np.concatenate([[0], np.cumsum(counts)])))
    with np.errstate(divide="ignore"):
        needed = np.where(room > 0, size[owner] / (LARGEST_CELL * room), 0.0)  # on the edge there is no disc to resolve
    worst = np.full(len(counts), float(CELLS))
    np.maximum.at(worst, owner, needed)
    return STEPS[np.minimum(np.searchsorted(STEPS, worst), len(STEPS) - 1)]
