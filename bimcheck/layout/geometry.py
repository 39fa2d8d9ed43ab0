"""What follows from anchor positions alone: order, edges, spacing, tributary areas, roles."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.core.units import Array
from bimcheck.layout.families import spacing_of
from bimcheck.layout.sites import Site

MEASURED = 2  # decimals in mm to which distances are told: an edge of 50 mm is 50.00, not 49.9999999, and tests cover it
_ROLES = np.array(["free", "sliding", "fixed"], dtype=object)
SAME_ROW = 1.0  # mm: anchors whose heights differ by less are one row


@dataclass(frozen=True)
class Geometry:
    """(m, n) arrays an anchor; y_lever, n_hang (m,)."""

    edge: Array
    spacing: Array
    tributary: Array
    role: NDArray
    hangs: NDArray[np.bool_]
    y_lever: Array
    n_hang: NDArray[np.int64]


def in_slot_order(points: Array) -> Array:
    """Anchors (m, n, 2) ordered by row from below, left to right seen from the rear, that is by falling x."""
    order = slot_order(points)
    return np.take_along_axis(points, order[..., None], axis=1)


def slot_order(points: Array) -> NDArray[np.int64]:
    return np.lexsort((-points[..., 0], np.round(points[..., 1] / SAME_ROW)), axis=-1)


def geometry(sites: Sequence[Site], at: NDArray[np.int64], points: Array) -> Geometry:
    """Geometry of layouts: points (m, n, 2) in slot order in the panel's frame, at (m,) rows of `sites`."""
    plain = np.array([s.rectangle for s in sites], dtype=bool)[at]
    return measured(plain, np.array([s.size for s in sites]).reshape(-1, 2)[at], lambda i: sites[at[i]], points)


def measured(plain: NDArray[np.bool_], size: Array, site: Callable[[int], Site], points: Array) -> Geometry:
    """Geometry of layouts (m, n, 2) on panels of size (m, 2), which are rectangles where plain (m,), else sites."""
    edge, spacing, tributary = (np.empty(points.shape[:2]) for _ in range(3))
    hangs, lever, centre = np.empty(points.shape[:2], dtype=bool), np.empty(len(points)), np.empty(len(points))
    edge[plain] = edge_in_rectangle(points[plain], size[plain])
    columns = np.where(plain, grid_columns(points), 0)
    for nx in np.unique(columns[columns > 0]):
        some = np.flatnonzero(columns == nx)
        spacing[some], tributary[some], hangs[some], lever[some] = _of_grid(points[some], size[some], int(nx))
    odd = np.flatnonzero(columns == 0)
    for i in odd.tolist():
        rings = site(i).own_rings
        outline = shapely.Polygon(rings[0], list(rings[1:]))
        edge[i] = edge_in_polygon(outline, points[i])
        tributary[i] = tributary_in_polygon(outline, points[i])
        centre[i] = outline.centroid.x
    if len(odd):
        spacing[odd] = spacing_of(points[odd])
        hangs[odd], lever[odd] = hanging(points[odd], centre[odd])
    return Geometry(np.round(edge, MEASURED), np.round(spacing, MEASURED), tributary, roles(points, hangs), hangs, lever, hangs.sum(axis=1))


def _of_grid(points: Array, size: Array, nx: int) -> tuple[Array, Array, NDArray[np.bool_], Array]:
    """Spacing, tributary areas, hanging anchors and lever of full grids (m, n, 2) of nx columns on rectangles (m, 2)."""
    rows = points.reshape(len(points), -1, nx, 2)
    x, y = rows[:, 0, ::-1, 0], rows[:, :, 0, 1]
    shape = rows.shape[:3]
    gap = np.minimum(_nearest(x)[:, None, ::-1], _nearest(y)[:, :, None])
    area = _strips(y, size[:, 1])[:, :, None] * _strips(x, size[:, 0])[:, None, ::-1]
    hangs = np.zeros(shape, dtype=bool)
    hangs[:, -1, [0, -1]] = True
    flat = (len(points), -1)
    return np.broadcast_to(gap, shape).reshape(flat), area.reshape(flat), hangs.reshape(flat), y[:, -1] - y[:, 0]


def _nearest(at: Array) -> Array:
    """(m, k) distance of rising positions to the nearer neighbour."""
    gap = np.diff(at, axis=1)
    far = np.full((len(at), 1), np.inf)
    return np.minimum(np.hstack([far, gap]), np.hstack([gap, far]))


def edge_in_rectangle(points: Array, size: Array) -> Array:
    """(m, n) distance of points (m, n, 2) to the edges of rectangles (m, 2) with a corner at 0, 0."""
    x, y = points[..., 0], points[..., 1]
    return np.minimum(np.minimum(x, size[:, :1] - x), np.minimum(y, size[:, 1:] - y))


def edge_in_polygon(outline: shapely.Polygon, points: Array) -> Array:
    """(n,) distance to outline and cut-outs, negative off the panel."""
    at = shapely.points(points)
    distance = shapely.distance(outline.boundary, at)
    return np.where(shapely.covers(outline, at), distance, -distance)


def grid_columns(points: Array) -> NDArray[np.int64]:
    """(m,) columns of layouts whose anchors, in slot order, form a full grid with the same columns in each row; else 0."""
    if not len(points):
        return np.zeros(0, dtype=np.int64)
    columns = np.sum(np.abs(points[..., 1] - points[:, :1, 1]) < SAME_ROW, axis=1)
    whole = (points.shape[1] % columns == 0) & (columns > 1) & (columns < points.shape[1])
    for nx in np.unique(columns[whole]):
        some = np.flatnonzero(whole & (columns == nx))
        rows = points[some].reshape(len(some), -1, nx, 2)
        same = (np.abs(rows[..., 0] - rows[:, :1, :, 0]) < 1e-6).all(axis=(1, 2))
        whole[some] = same & (np.abs(rows[..., 1] - rows[:, :, :1, 1]) < 1e-6).all(axis=(1, 2))
    return np.where(whole, columns, 0)


def _strips(at: Array, side: Array) -> Array:
    """(m, k) widths of the strips about rising positions (m, k) on sides (m,)."""
    middle = (at[:, 1:] + at[:, :-1]) / 2
    return np.diff(np.column_stack([np.zeros(len(at)), middle, side]), axis=1)


def tributary_in_polygon(outline: shapely.Polygon, points: Array) -> Array:
    """(n,) areas of the Voronoi cells of points (n, 2), clipped to the outline."""
    cells = shapely.get_parts(shapely.voronoi_polygons(shapely.MultiPoint(points), extend_to=outline.envelope))
    owner = [int(np.argmin(shapely.distance(cells[k], shapely.points(points)))) for k in range(len(cells))]
    areas = np.asarray(shapely.area(shapely.intersection(cells, outline)), dtype=float)
    return np.asarray(np.bincount(owner, areas, len(points)), dtype=float)


def hanging(points: Array, x_G: Array) -> tuple[NDArray[np.bool_], Array]:
    """(m, n) anchors that carry weight, and (m,) the lever of the couple it makes.

    The outer two of the highest row that has two with the centre of gravity, at x_G (m,), between them; else of the highest
    that has two; of layouts without such a row the two highest.  Never more than two.  The lever is the greatest vertical
    distance of another row.
    """
    x, y = points[..., 0], points[..., 1]
    same = np.abs(y[:, :, None] - y[:, None]) < SAME_ROW
    paired = np.sum(same, axis=2) >= 2
    left, right = np.where(same, x[:, None], np.inf).min(axis=2), np.where(same, x[:, None], -np.inf).max(axis=2)
    about = paired & (left <= x_G[:, None]) & (x_G[:, None] <= right)
    chosen = np.where(about.any(axis=1, keepdims=True), about, paired)
    top = np.where(chosen, y, -np.inf).max(axis=1)
    row = chosen & (np.abs(y - top[:, None]) < SAME_ROW)
    least = np.where(row, x, np.inf).min(axis=1, keepdims=True)
    most = np.where(row, x, -np.inf).max(axis=1, keepdims=True)
    hangs = row & ((x == least) | (x == most))
    single = ~paired.any(axis=1)
    hangs[single] = np.argsort(np.argsort(-y[single], axis=1, kind="stable"), axis=1) < 2
    height = np.sum(np.where(hangs, y, 0.0), axis=1) / np.maximum(hangs.sum(axis=1), 1)
    return hangs, np.abs(y - height[:, None]).max(axis=1)


def roles(points: Array, hangs: NDArray[np.bool_]) -> NDArray:
    """(m, n) one fixed (the hanging one on the left seen from the rear), one sliding along x, the rest free."""
    x = np.where(hangs, points[..., 0], -np.inf)
    fixed = hangs & (x == x.max(axis=1, keepdims=True))
    return _ROLES[hangs.astype(np.int64) + fixed]


def thermal_length(points: Array, role: NDArray) -> Array:
    """(m, n) distance of each anchor from the fixed one: the length whose movement its slot takes."""
    fixed = np.argmax(role == "fixed", axis=1)
    return np.linalg.norm(points - points[np.arange(len(points)), fixed][:, None], axis=2)
