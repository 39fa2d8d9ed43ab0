"""The joints table: neighbours in the plane and panels of two planes that run into one another."""

from __future__ import annotations

import numpy as np

from bimcheck.core.tables import Table, concat
from bimcheck.relate.collide import find_collisions
from bimcheck.relate.facts import Ints, table_of
from bimcheck.relate.frames import dot
from bimcheck.relate.joints import SIDES, Reach, find_joints, lay_out
from bimcheck.relate.settings import Relate


def find(panels: Table, settings: Relate) -> Table:
    """Joints of panels (rows with frames): panel, other, side, gap, overlap_length, step, corner.

    corner: the other panel lies in another plane and overlaps in space; gap is then less the depth of the overlap.
    """
    flat = lay_out(panels, settings.coplanar_mm)
    reach = Reach(settings.neighbour_reach_mm, settings.neighbour_overlap_mm, settings.coplanar_mm)
    return concat("joints", [find_joints(flat, reach), _corners(panels, flat.group)])


def _corners(panels: Table, group: Ints) -> Table:
    a, b, depth, height = find_collisions(panels, group)
    panel, other = np.concatenate([a, b]), np.concatenate([b, a])
    return table_of("joints", panel=panel, other=other, side=_side(panels, panel, other), gap=-np.tile(depth, 2),
                    overlap_length=np.tile(height, 2), step=np.full(2 * len(a), np.nan), corner=np.ones(2 * len(a), dtype=bool))


def _side(panels: Table, panel: Ints, other: Ints) -> np.ndarray:
    """The side of the panel to which the middle of the other lies farthest out."""
    middle = panels["origin"] + panels["u"] * panels["width"][:, None] / 2 + panels["v"] * panels["height"][:, None] / 2
    away = middle[other] - middle[panel]
    x = dot(away, panels["u"][panel]) / panels["width"][panel]
    y = dot(away, panels["v"][panel]) / panels["height"][panel]
    side = np.where(np.abs(x) >= np.abs(y), np.where(x < 0, 0, 1), np.where(y < 0, 2, 3))
    return np.array(SIDES, dtype=object)[side]
