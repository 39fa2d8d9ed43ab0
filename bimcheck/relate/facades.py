"""The facades table: front plane, ends and corners, breadth and depth, and where each panel lies along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Floats, Ints, table_of
from bimcheck.relate.skin import COURTYARD, OUTER, RECESS, Facades, meet
from bimcheck.relate.structure import MATCH, Edge, edges

SMOOTH = np.sin(np.radians(10.0))  # a smaller bend between facades is no corner
EXTERNAL, REENTRANT, FREE = "external", "re-entrant", "free"


@dataclass(frozen=True)
class Ends:
    """Per facade: outward normal (m, 2), front offset, end positions along u, kinds of the ends, normals beyond them."""

    normal: Floats
    offset: Floats
    position: Floats  # (m, 2) left, right
    kind: np.ndarray  # (m, 2)
    beyond: Floats  # (m, 2, 2)

    @property
    def u(self) -> Floats:
        return np.column_stack([-self.normal[:, 1], self.normal[:, 0]])


def front_offsets(facade: Ints, distance: Floats, weight: Floats, count: int) -> Floats:
    """Weighted median of the front faces' distances: the plane that most of the skin lies in."""
    out = np.zeros(count)
    order = np.lexsort((distance, facade))
    order = order[facade[order] >= 0]
    starts = np.searchsorted(facade[order], np.arange(count + 1))
    for f in range(count):
        rows = order[starts[f]:starts[f + 1]]
        total = np.cumsum(weight[rows])
        out[f] = distance[rows][np.searchsorted(total, total[-1] / 2)] if len(rows) else np.nan
    return out


def find_ends(facades: Facades, normal: Floats, offset: Floats, low: Floats, high: Floats) -> Ends:
    """Ends at the corners where front planes meet; open ends where the panels end."""
    u = np.column_stack([-normal[:, 1], normal[:, 0]])
    position = np.column_stack([low, high])
    kind = np.full((len(normal), 2), FREE, dtype=object)
    beyond = np.zeros((len(normal), 2, 2))
    for side, neighbour in enumerate((facades.before, facades.after)):
        for f in np.flatnonzero(neighbour >= 0):
            g = neighbour[f]
            point = meet(normal[f], float(offset[f]), normal[g], float(offset[g]))
            if point is not None:
                position[f, side] = u[f] @ point
            kind[f, side] = _kind(u[f], u[g], side)
            beyond[f, side] = normal[g]
    return Ends(normal, offset, position, kind, beyond)


def _kind(u: Floats, other: Floats, side: int) -> str:
    """Passed with the outside on the right, a turn to the left is an external corner."""
    bend = (u[0] * other[1] - u[1] * other[0]) * (1.0 if side else -1.0)
    return FREE if abs(bend) < SMOOTH and u @ other > 0 else EXTERNAL if bend > 0 else REENTRANT


def close_by(outline: shapely.Polygon, ends: Ends) -> tuple[Ends, Ints]:
    """Take open ends from the edges of the outline; also the edge that each facade lies on (-1 none)."""
    ring = edges(outline)
    position, kind, beyond = ends.position.copy(), ends.kind.copy(), ends.beyond.copy()
    on_edge = np.full(len(ends.offset), -1)
    for f in range(len(ends.offset)):
        on_edge[f] = k = _edge_of(ring, ends, f)
        for side, g in enumerate((k - 1, (k + 1) % len(ring))) if k >= 0 else ():
            if kind[f, side] == FREE and not beyond[f, side].any():
                position[f, side] = (ring[k].left, ring[k].right)[side]
                kind[f, side] = _kind(ends.u[f], ring[g].u, side)
                beyond[f, side] = ring[g].normal
    return Ends(ends.normal, ends.offset, position, kind, beyond), on_edge


def _edge_of(ring: list[Edge], ends: Ends, f: int) -> int:
    for k, e in enumerate(ring):
        overlap = min(e.right, ends.position[f, 1]) - max(e.left, ends.position[f, 0])
        if float(e.normal @ ends.normal[f]) > 0.99999 and abs(e.offset - ends.offset[f]) < MATCH and overlap > 0:
            return k
    return -1


def outline(facades: Facades, ends: Ends, chain: int) -> Floats:
    """Front-plane outline (k, 2) of a chain, passed with the outside on the right."""
    f = np.flatnonzero(facades.chain == chain)
    on_plane = ends.normal[f] * ends.offset[f, None]
    return np.stack([on_plane + ends.u[f] * ends.position[f, :1], on_plane + ends.u[f] * ends.position[f, 1:]],
                    axis=1).reshape(-1, 2)


def kinds(facades: Facades, ends: Ends, around: list[Floats | None], depth: float) -> np.ndarray:
    """outer, recess or courtyard: a recess lies deeper than `depth` within the hull of the outline around it."""
    kind = np.where(facades.kind == COURTYARD, COURTYARD, OUTER).astype(object)
    middle = ends.u * ends.position.mean(axis=1)[:, None] + ends.normal * ends.offset[:, None]
    for f, points in enumerate(around):
        if kind[f] == OUTER and points is not None:
            hull = shapely.convex_hull(shapely.multipoints(points))
            ahead = shapely.contains_xy(hull, *(middle[f] + depth * ends.normal[f]))
            kind[f] = RECESS if ahead and shapely.contains_xy(hull, *middle[f]) else OUTER
    return kind


def extents(points: Floats, normal: Floats) -> tuple[Floats, Floats]:
    """b across and d along the wind that blows square onto each facade, from points of the plan."""
    u = np.column_stack([-normal[:, 1], normal[:, 0]])
    return np.ptp(points @ u.T, axis=0), np.ptp(points @ normal.T, axis=0)


def least_width(points: Floats) -> float:
    """Least horizontal dimension: the least width of the hull over the directions of its edges."""
    hull = shapely.convex_hull(shapely.multipoints(points))
    if not isinstance(hull, shapely.Polygon):
        return 0.0
    ring = edges(hull)
    corners = np.asarray(shapely.get_coordinates(hull))
    return min(float(np.ptp(corners @ e.normal)) for e in ring)


def table(names: np.ndarray, ends: Ends, kind: np.ndarray, size: Floats) -> Table:
    """The facades table; size: (m, 3) b, d and the least plan dimension."""

    def upright(plan: Floats) -> Floats:
        return np.column_stack([plan, np.zeros(len(plan))])

    return table_of(
        "facades", facade_name=names, facade_n=upright(ends.normal), facade_b=size[:, 0], facade_d=size[:, 1],
        facade_length=ends.position[:, 1] - ends.position[:, 0], facade_left=ends.kind[:, 0], facade_right=ends.kind[:, 1],
        facade_kind=kind, facade_left_n=upright(ends.beyond[:, 0]), facade_right_n=upright(ends.beyond[:, 1]),
        least_plan=size[:, 2])


def along(facade: Ints, low: Floats, high: Floats, ends: Ends) -> tuple[Floats, Floats, Floats]:
    """s_left, s_right and corner distance of rows that reach from low to high along their facade (-1: nan)."""
    if not len(ends.offset):
        return (np.full(len(facade), np.nan),) * 3  # type: ignore[return-value]
    has = facade >= 0
    position, kind = ends.position[facade], ends.kind[facade]
    left, right = low - position[:, 0], position[:, 1] - high
    ends_at = np.where(kind == EXTERNAL, np.maximum(np.column_stack([left, right]), 0.0), np.inf)
    nearest = ends_at.min(axis=1)
    nearest[np.isinf(nearest)] = np.nan
    return np.where(has, left, np.nan), np.where(has, right, np.nan), np.where(has, nearest, np.nan)
