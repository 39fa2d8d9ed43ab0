"""Panels of different planes whose bodies overlap: returns of two facades at a corner, soffit against wall."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.frames import dot
from bimcheck.relate.joints import TOUCH, rectangular
from bimcheck.relate.near import meeting, spread_axis

CORNERS = np.array([[i, j, k] for i in (-1.0, 1.0) for j in (-1.0, 1.0) for k in (-1.0, 1.0)])


@dataclass(frozen=True)
class Solids:
    """Bodies as boxes in their own axes: centre (n, 3), axes (n, 3, 3) u, v, n in rows, half (n, 3)."""

    centre: Floats
    axes: Floats
    half: Floats

    def corners(self, rows: Ints) -> Floats:
        """(k, 8, 3) world corners."""
        return self.centre[rows, None, :] + np.einsum("ci,ki,kij->kcj", CORNERS, self.half[rows], self.axes[rows])


def find_collisions(panels: Table, group: Ints) -> tuple[Ints, Ints, Floats, Floats]:
    """Pairs a < b of different plane groups that share volume: rows, depth (mm, the least way apart), shared height."""
    solids = solids_of(panels)
    points = solids.corners(np.arange(panels.n))
    box = np.concatenate([points.min(axis=1), points.max(axis=1)], axis=1) if panels.n else np.zeros((0, 6))
    a, b = meeting(box, box, spread_axis(panels["n"]))
    keep = (a < b) & (group[a] != group[b])
    a, b = a[keep], b[keep]
    depth = way_apart(solids, a, b)
    real = depth > TOUCH
    a, b, depth = a[real], b[real], depth[real]
    real = _outlines_meet(panels, solids, a, b) & _outlines_meet(panels, solids, b, a)
    a, b = a[real], b[real]
    height = np.minimum(box[a, 5], box[b, 5]) - np.maximum(box[a, 2], box[b, 2])
    return a, b, depth[real], height


def solids_of(panels: Table) -> Solids:
    u, v, n = panels["u"], panels["v"], panels["n"]
    size = np.column_stack([panels["width"], panels["height"], panels["thickness"]])
    centre = panels["origin"] + (u * size[:, :1] + v * size[:, 1:2] - n * size[:, 2:]) / 2
    return Solids(centre, np.stack([u, v, n], axis=1), size / 2)


def way_apart(solids: Solids, a: Ints, b: Ints) -> Floats:
    """Least distance by which boxes must be moved to come apart (separating axes: faces and products of edges);
    negative where they are apart."""
    first, second = solids.axes[a], solids.axes[b]
    products = np.cross(first[:, :, None, :], second[:, None, :, :]).reshape(len(a), 9, 3)
    length = np.linalg.norm(products, axis=2, keepdims=True)
    # Parallel edges have no product; a face's own axis takes its place.
    products = np.where(length > 1e-6, products / np.where(length > 0, length, 1.0), first[:, :1, :])
    axes = np.concatenate([first, second, products], axis=1)
    between = np.abs(np.einsum("kj,kaj->ka", solids.centre[b] - solids.centre[a], axes))
    reach = sum(np.einsum("ki,kai->ka", solids.half[r], np.abs(np.einsum("kaj,kij->kai", axes, solids.axes[r]))) for r in (a, b))
    return (reach - between).min(axis=1, initial=np.inf)


def _outlines_meet(panels: Table, solids: Solids, a: Ints, b: Ints) -> np.ndarray:
    """Whether the box of b, seen along the normal of a, falls on the outline of a; rectangles always do."""
    meets = np.ones(len(a), dtype=bool)
    plain = rectangular(panels["outline"]) if panels.n else np.zeros(0, bool)
    for k in np.flatnonzero(~plain[a]):
        rings = panels["outline"][a[k]]
        area = shapely.Polygon(rings[rings[:, 2] == 0, :2], [rings[rings[:, 2] == r, :2] for r in np.unique(rings[:, 2])[1:]])
        away = solids.corners(b[k:k + 1])[0] - panels["origin"][a[k]]
        shadow = shapely.convex_hull(shapely.multipoints(np.column_stack([dot(away, panels["u"][a[k]]), dot(away, panels["v"][a[k]])])))
        meets[k] = shapely.area(shapely.intersection(area, shadow)) > TOUCH
    return meets
