"""The outward side of chains of walls: by what stands close behind, by the plan of the building, by their bend."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.planes import Planes, Stretches
from bimcheck.relate.skin import COURTYARD, OPEN, OUTER, Turned, reverse

CLOSE = (("rail", "bracket", "member", "frame"), 400.0)  # stand right behind the skin, never before it
STRUCTURE = (("slab", "wall"), 1500.0)
PROBES = (150.0, 400.0, 1200.0)  # mm from the wall, where the plan is asked
OVERRULE = 3  # bodies that must agree against a closed ring: it is then a courtyard whose building is in no file


def settle(turned: list[Turned], planes: Planes, parts: Stretches, plans: list[shapely.Geometry | None],
           obstacles: Table) -> list[Turned]:
    """Turn chains that the plan alone leaves open; plans: what the rings enclose, outline of the slabs."""
    close = _votes(planes, parts, obstacles, *CLOSE)
    far = _votes(planes, parts, obstacles, *STRUCTURE)
    return [_settled(t, close, far, [_by_plan(planes, parts, t.chain.stretch, p) for p in plans]) for t in turned]


def _settled(t: Turned, close: Floats, far: Floats, by_plan: list[Floats]) -> Turned:
    near = _score(t, close[t.chain.stretch])
    if t.kind != OPEN:
        against = t.kind == OUTER and near <= -OVERRULE
        return replace(t, chain=reverse(t.chain), kind=COURTYARD) if against else t
    for score in (near, *(_score(t, votes) for votes in by_plan), float(t.known), _score(t, far[t.chain.stretch])):
        if score:
            return replace(t, chain=t.chain if score > 0 else reverse(t.chain), known=True)
    return t


def _score(t: Turned, votes: Floats) -> float:
    """Votes on the planes' normals, counted for the side that the chain has now."""
    return float(np.sum(votes * np.where(t.chain.forward, 1.0, -1.0)))


def _by_plan(planes: Planes, parts: Stretches, members: Ints, solid: shapely.Geometry | None) -> Floats:
    """+1 for each stretch where the plan lies behind the plane's normal, -1 where before it, 0 where it does not say."""
    found = np.zeros(len(members))
    if solid is None:
        return found
    plane = parts.plane[members]
    n, t = planes.normal[plane], planes.along[plane]
    middle = n * planes.offset[plane][:, None] + t * ((parts.a + parts.b) / 2)[members][:, None]
    for reach in PROBES:
        ahead = shapely.contains_xy(solid, *(middle + reach * n).T)
        behind = shapely.contains_xy(solid, *(middle - reach * n).T)
        found = np.where(found == 0, behind.astype(float) - ahead, found)
    return found


def _votes(planes: Planes, parts: Stretches, obstacles: Table, roles: tuple[str, ...], reach: float) -> Floats:
    """For each stretch the bodies beside it: +1 for each behind the plane's normal, -1 for each before it."""
    votes = np.zeros(len(parts.plane))
    box = obstacles["box"][np.isin(obstacles["role"], roles)] if obstacles.n else np.zeros((0, 6))
    if not len(box):
        return votes
    centre, half = (box[:, :3] + box[:, 3:]) / 2, (box[:, 3:] - box[:, :3]) / 2
    for m, plane in enumerate(parts.plane):
        n, t = planes.normal[plane], planes.along[plane]
        s, d = centre[:, :2] @ t, centre[:, :2] @ n - planes.offset[plane]
        wide, deep = half[:, :2] @ np.abs(t), half[:, :2] @ np.abs(n)
        beside = (s + wide > parts.a[m]) & (s - wide < parts.b[m]) & (box[:, 5] > parts.z0[m]) & (box[:, 2] < parts.z1[m])
        votes[m] = -np.sign(d[beside & (np.abs(d) - deep < reach)]).sum()
    return votes
