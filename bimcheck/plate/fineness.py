"""How fine a grid a layout needs: its smallest disc must span about a cell (24 cells else, 32 where the outline cuts).

Measured against 144 cells: with cells up to 1.1 times the distance to the nearest edge or other anchor the anchor
moment is within 0.5 %, with 2 times it is up to 7 % low.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from bimcheck.plate.edges import edge_distance, is_box
from bimcheck.plate.hermite import Array, Index
from bimcheck.plate.response import nearest_other
from bimcheck.plate.shape import CELLS, CELLS_CUT

STEPS = np.array([CELLS, CELLS_CUT, 48, 64])  # grids in use; beyond the last the solution is flagged coarse
LARGEST_CELL = 1.1  # over the distance to the nearest edge or other anchor


def cells_for(rings: Sequence[Array], layouts: Sequence[Array]) -> Index:
    """(m,) cells along the longest side for each layout of anchors (n, 2); rings and anchors in mm."""
    polygon = shapely.Polygon(rings[0], rings[1:])
    counts = np.array([len(a) for a in layouts], dtype=np.int64)
    offsets = np.concatenate([[0], np.cumsum(counts)])
    anchors = np.concatenate([np.empty((0, 2)), *(np.reshape(a, (-1, 2)) for a in layouts)])
    room = np.minimum(np.abs(edge_distance(polygon, anchors)), nearest_other(anchors, counts, offsets))
    size = np.ptp(np.asarray(rings[0], dtype=float), axis=0).max()
    with np.errstate(divide="ignore"):
        needed = np.where(room > 0, size / (LARGEST_CELL * room), 0.0)  # on the edge there is no disc to resolve
    worst = np.full(len(counts), float(CELLS))
    np.maximum.at(worst, np.repeat(np.arange(len(counts)), counts), needed)
    chosen = STEPS[np.minimum(np.searchsorted(STEPS, worst), len(STEPS) - 1)]
    return chosen if is_box(polygon) else np.maximum(chosen, CELLS_CUT)
