"""The plan outline of slabs (else of walls), moved out to the clad faces: closes a ring that the panels leave open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Floats

MOST = 200  # bodies that are put together; the largest come first
MATCH = 25.0  # mm between a clad face and the moved outline
FARTHEST = 1500.0  # mm between slab edge and clad face
SEAM = 150.0  # mm; gaps between walls that are closed


@dataclass(frozen=True)
class Edge:
    """An edge of an outline passed counter-clockwise: outward normal, offset, ends along z x n."""

    normal: Floats
    offset: float
    left: float
    right: float

    @property
    def u(self) -> Floats:
        return np.array([-self.normal[1], self.normal[0]])


def plan_of(obstacles: Table) -> shapely.Polygon | None:
    """Outer outline of the slabs seen from above, else of the walls; None where there are none or several pieces."""
    for role, seam in (("slab", 0.5), ("wall", SEAM)):
        flat = _flat(obstacles, role)
        if len(flat):
            grown = shapely.union_all(shapely.buffer(flat, seam, join_style="mitre"))
            plan = shapely.Polygon(grown.exterior) if isinstance(grown, shapely.Polygon) else None
            shrunk = None if plan is None else plan.buffer(-seam, join_style="mitre").simplify(1.0)
            return shrunk if isinstance(shrunk, shapely.Polygon) else None
    return None


def _flat(obstacles: Table, role: str) -> np.ndarray:
    """Triangles of the largest bodies of a role, seen from above."""
    rows = np.flatnonzero(obstacles["role"] == role) if obstacles.n else np.zeros(0, int)
    box = obstacles["box"][rows] if len(rows) else np.zeros((0, 6))
    rows = rows[np.argsort(-(box[:, 3] - box[:, 0]) * (box[:, 4] - box[:, 1]), kind="stable")[:MOST]]
    if not len(rows):
        return np.zeros(0, dtype=object)
    flat = shapely.polygons(obstacles["triangles"].take(rows).values.reshape(-1, 3, 3)[:, :, :2])
    return flat[shapely.area(flat) > 1.0]


def moved_out(plan: shapely.Geometry | None, normals: Floats, offsets: Floats) -> shapely.Polygon | None:
    """The plan grown so that edges fall on clad faces n . p = offset: by the distance that most faces agree on."""
    if not isinstance(plan, shapely.Polygon) or plan.is_empty or not len(offsets):
        return None
    gaps = np.array([_gap(plan, n, d) for n, d in zip(normals, offsets, strict=True)])
    gaps = gaps[np.isfinite(gaps)]
    if not len(gaps):
        return None
    agree = np.abs(gaps[:, None] - gaps[None, :]) <= MATCH
    best = int(np.argmax(agree.sum(axis=1)))
    grown = plan.buffer(float(np.median(gaps[agree[best]])), join_style="mitre")
    return grown if isinstance(grown, shapely.Polygon) else None


def _gap(solid: shapely.Polygon, normal: Floats, offset: float) -> float:
    """Distance from the nearest edge of that direction out to the face."""
    own = [offset - e.offset for e in edges(solid) if float(e.normal @ normal) > 0.99999]
    own = [g for g in own if -MATCH <= g <= FARTHEST]
    return min(own) if own else np.nan


def edges(outline: shapely.Polygon) -> list[Edge]:
    """Edges of the outer ring, counter-clockwise."""
    points = ring(outline)
    found = []
    for p, q in zip(points, np.roll(points, -1, axis=0), strict=True):
        t = (q - p) / np.linalg.norm(q - p)
        n = np.array([t[1], -t[0]])
        found.append(Edge(n, float(n @ p), float(t @ p), float(t @ q)))
    return found


def ring(outline: shapely.Polygon) -> Floats:
    """(k, 2) vertices of the outer ring, counter-clockwise."""
    return np.asarray(shapely.get_coordinates(shapely.orient_polygons(outline).exterior))[:-1]


def completed(points: Floats, first: int, last: int, outline: shapely.Polygon) -> Floats:
    """A chain of corners that begins on edge `first` of the outline and ends on edge `last`: closed along the outline."""
    corners = ring(outline)
    count = len(corners)
    steps = (first - last - 1) % count + 1  # once round where the chain is a single edge
    return np.concatenate([points, corners[(last + 1 + np.arange(steps)) % count]])
