"""Short walls that are no facade: reveals of openings and returns round a corner.  Their outward side, row by row."""

from __future__ import annotations

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.near import boxes, meeting, spread_axis
from bimcheck.relate.tiers import Rows

BESIDE = 150.0  # mm from the wall; there lies the next panel of the facade, or the opening
REACH = 300.0  # mm round that point
PROBES = (60.0, 150.0, 400.0)  # mm from the wall, where the plan is asked


def sides(rows: Rows, loose: Ints, facade: Ints, solid: shapely.Geometry | None, obstacles: Table) -> Floats:
    """+1 or -1 on raw n for each loose row, 0 where nothing tells.

    Behind a return or a reveal lies the building or the panels of the facade; before it the open, or the window.
    """
    n, mid = rows.n[loose], rows.mid[loose]
    sign = _by_plan(n, mid, solid)
    hosts = np.flatnonzero(facade >= 0)
    sign = np.where(sign == 0, -_nearer(rows, loose, boxes(rows.face.points, rows.face.offsets)[hosts]), sign)
    frames = obstacles["box"][obstacles["role"] == "frame"] if obstacles.n else np.zeros((0, 6))
    return np.where(sign == 0, _nearer(rows, loose, frames), sign)


def _by_plan(n: Floats, mid: Floats, solid: shapely.Geometry | None) -> Floats:
    sign = np.zeros(len(n))
    if solid is None:
        return sign
    for reach in PROBES:
        ahead = shapely.contains_xy(solid, *(mid + reach * n).T[:2]).astype(float)
        behind = shapely.contains_xy(solid, *(mid - reach * n).T[:2]).astype(float)
        sign = np.where(sign == 0, behind - ahead, sign)
    return sign


def _nearer(rows: Rows, loose: Ints, others: Floats) -> Floats:
    """+1 where more of the other boxes stand beside the +n side than beside the -n side, -1 the other way."""
    found = []
    for side in (1.0, -1.0):
        at = rows.mid[loose] + side * BESIDE * rows.n[loose]
        half = (rows.z1 - rows.z0)[loose] / 4
        zone = np.column_stack([at[:, :2] - REACH, at[:, 2] - half, at[:, :2] + REACH, at[:, 2] + half])
        i, j = meeting(zone, others, spread_axis(rows.n))
        centre = (others[j, :3] + others[j, 3:]) / 2
        beside = np.einsum("ij,ij->i", centre - rows.mid[loose][i], side * rows.n[loose][i]) > 0
        found.append(np.bincount(i[beside], minlength=len(loose)))
    return np.sign(found[0] - found[1]).astype(float)
