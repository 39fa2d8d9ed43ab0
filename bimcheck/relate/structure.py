"""The plan outline of slabs, moved out to the clad faces: closes a ring that the panels leave open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Floats

MOST = 200  # slabs that are put together; the largest come first
MATCH = 25.0  # mm between a clad face and the moved outline
GROUND_PLAN = ("slab",)


@dataclass(frozen=True)
class Edge:
    """An edge of the outline passed counter-clockwise: outward normal, offset, ends along z x n."""

    normal: Floats
    offset: float
    left: float
    right: float


def slab_plan(obstacles: Table) -> shapely.Geometry | None:
    """Union of the slabs seen from above, world plan; None where there are none."""
    rows = np.flatnonzero(np.isin(obstacles["role"], GROUND_PLAN)) if obstacles.n else np.zeros(0, int)
    box = obstacles["box"][rows] if len(rows) else np.zeros((0, 6))
    size = (box[:, 3] - box[:, 0]) * (box[:, 4] - box[:, 1])
    rows = rows[np.argsort(-size, kind="stable")[:MOST]]
    if not len(rows):
        return None
    triangles = obstacles["triangles"].take(rows).values.reshape(-1, 3, 3)[:, :, :2]
    flat = shapely.polygons(triangles)
    flat = flat[shapely.area(flat) > 1.0]
    # A tiny growth closes the seams between triangles.
    plan = shapely.union_all(shapely.buffer(flat, 0.5, join_style="mitre")) if len(flat) else None
    return None if plan is None else plan.buffer(-0.5, join_style="mitre").simplify(1.0)


def moved_out(plan: shapely.Geometry | None, normals: Floats, offsets: Floats) -> shapely.Polygon | None:
    """The plan grown so that its edges fall on the clad faces n . p = offset; None where no single distance does it."""
    if not isinstance(plan, shapely.Polygon) or not len(offsets):
        return None
    solid = shapely.Polygon(plan.exterior)
    gaps = np.array([_gap(solid, n, d) for n, d in zip(normals, offsets, strict=True)])
    if np.isnan(gaps).any() or np.ptp(gaps) > MATCH or gaps.min() < 0:
        return None
    grown = solid.buffer(float(np.median(gaps)), join_style="mitre")
    return grown if isinstance(grown, shapely.Polygon) else None


def _gap(solid: shapely.Polygon, normal: Floats, offset: float) -> float:
    """Distance from the nearest edge of that direction out to the face."""
    own = [offset - e.offset for e in edges(solid) if float(e.normal @ normal) > 0.99999]
    return min(own, key=abs) if own else np.nan


def edges(outline: shapely.Polygon) -> list[Edge]:
    """Edges of the outer ring, counter-clockwise."""
    points = np.asarray(shapely.get_coordinates(shapely.orient_polygons(outline).exterior))[:-1]
    found = []
    for p, q in zip(points, np.roll(points, -1, axis=0), strict=True):
        t = (q - p) / np.linalg.norm(q - p)
        n = np.array([t[1], -t[0]])
        found.append(Edge(n, float(n @ p), float(t @ p), float(t @ q)))
    return found
