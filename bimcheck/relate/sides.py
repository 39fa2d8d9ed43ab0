"""The outward side of walls that no ring of panels settles: by the plan of the building, else by what stands behind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Floats
from bimcheck.relate.planes import Planes, Stretches
from bimcheck.relate.skin import OPEN, Facades

BEHIND = ("rail", "bracket", "member", "slab", "wall", "frame")
PROBES = (150.0, 400.0, 1200.0)  # mm from the wall, where the plan is asked
VOTE_REACH = 1500.0


def settle(facades: Facades, planes: Planes, parts: Stretches, solid: shapely.Geometry | None, obstacles: Table) -> Facades:
    """Decide every facade of an open chain; `known` is False where nothing decides."""
    sign, known = facades.sign.copy(), facades.known.copy()
    for f in np.flatnonzero(facades.kind == OPEN):
        members = np.flatnonzero(facades.stretch == f)
        side = _by_plan(planes, parts, members, solid)
        if side == 0 and (solid is not None or not known[f]):
            side = _by_bodies(planes, parts, members, obstacles)
            known[f] = side != 0
        elif side:
            known[f] = True
        sign[f] = side or sign[f]
    swap = sign != facades.sign
    return replace(facades, sign=sign, known=known, before=np.where(swap, facades.after, facades.before),
                   after=np.where(swap, facades.before, facades.after))


def _by_plan(planes: Planes, parts: Stretches, members: np.ndarray, solid: shapely.Geometry | None) -> float:
    """+1 where the plan lies behind the plane's normal, -1 where before it, 0 where it does not say."""
    if solid is None:
        return 0.0
    plane = parts.plane[members]
    n, t = planes.normal[plane], planes.along[plane]
    middle = n * planes.offset[plane][:, None] + t * ((parts.a + parts.b) / 2)[members][:, None]
    for reach in PROBES:
        ahead = shapely.contains_xy(solid, *(middle + reach * n).T)
        behind = shapely.contains_xy(solid, *(middle - reach * n).T)
        votes = np.sum(behind.astype(int) - ahead.astype(int))
        if votes:
            return float(np.sign(votes))
    return 0.0


def _by_bodies(planes: Planes, parts: Stretches, members: np.ndarray, obstacles: Table) -> float:
    """Substructure, slabs and frames stand behind a panel, not before it."""
    if not obstacles.n:
        return 0.0
    box = obstacles["box"]
    centre = (box[:, :3] + box[:, 3:]) / 2
    of_kind = np.isin(obstacles["role"], BEHIND)
    votes = 0.0
    for m in members:
        plane = parts.plane[m]
        s, d = centre[:, :2] @ planes.along[plane], centre[:, :2] @ planes.normal[plane] - planes.offset[plane]
        half = np.abs(planes.normal[plane]) @ (box[:, 3:5] - box[:, :2]).T / 2
        near = of_kind & (np.abs(d) - half < VOTE_REACH) & _crosses(box, s, parts, int(m))
        votes -= np.sign(d[near]).sum()
    return float(np.sign(votes))


def _crosses(box: Floats, s: Floats, parts: Stretches, m: int) -> np.ndarray:
    reach = np.linalg.norm(box[:, 3:5] - box[:, :2], axis=1) / 2
    return (s + reach > parts.a[m]) & (s - reach < parts.b[m]) & (box[:, 5] > parts.z0[m]) & (box[:, 2] < parts.z1[m])
