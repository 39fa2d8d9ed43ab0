"""Moments at the anchors, averaged over discs: a point moment is log-singular and never read at the point.

The average of a second derivative over a disc is 2 / r times the average of slope x normal on its circle.  With
M = (Mx + My) / 2 the plate's equation makes M's average exact in the radius,
    M(c) = M(r) - (1 + nu) [R / (4 pi) ln(r / c) - q (r^2 - c^2) / 16],
and the deviator's average exactly linear in r^2, so that two radii carry it to any third.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.plate.hermite import Array, Index, locate, patch, weights
from bimcheck.plate.shape import Plate

CELLS = 2.0  # largest radius in cells
WITHIN = 0.98  # of the distance to the nearest edge
POINTS = 32  # on a circle


@dataclass(frozen=True)
class Circles:
    """Circles about p points: radius (p,) of the outer one, and what takes a field to averaged second derivatives.

    rows: (p, 2, POINTS, 16) flat tensor coefficients, in_x and in_y: weights of the same shape.
    """

    radius: Array
    rows: Index
    in_x: Array
    in_y: Array


def edge_distance(plate: Plate, points: Array) -> Array:
    """(p,) distance to the nearest edge in plate units, negative outside the plate."""
    at = shapely.points(points)
    distance = shapely.distance(plate.polygon.boundary, at)
    return np.where(shapely.covers(plate.polygon, at), distance, -distance)


def circles(plate: Plate, points: Array) -> Circles:
    """Two circles about each point (p, 2), radius r and r / sqrt 2."""
    grid = plate.grid
    radius = np.minimum(CELLS * max(grid.hx, grid.hy), WITHIN * edge_distance(plate, points))
    angle = (np.arange(POINTS) + 0.5) * (2 * np.pi / POINTS)
    normal = np.column_stack([np.cos(angle), np.sin(angle)])
    radii = np.maximum(radius, 1e-9)[:, None] * np.array([1.0, np.sqrt(0.5)])
    at = locate(grid, points[:, None, None] + radii[..., None, None] * normal)
    scale = (2.0 / POINTS / radii)[..., None, None, None]
    shape = (*at.s.shape, 16)
    return Circles(
        np.where(radius > 0, radius, np.nan),
        patch(at, grid.shape[1]).reshape(shape),
        (scale * weights(grid, at, dx=1)).reshape(shape),
        (scale * weights(grid, at, dy=1)).reshape(shape),
    )


def averages(around: Circles, fields: Array, point: Index, owner: Index) -> Array:
    """(k, 2, 3) averaged w_xx, w_yy, w_xy on both circles about point[k] in fields[owner[k]] (flat tensor order)."""
    angle = (np.arange(POINTS) + 0.5) * (2 * np.pi / POINTS)
    values = fields[owner[:, None, None, None], around.rows[point]]
    slope_x = np.einsum("kcpa,kcpa->kcp", values, around.in_x[point])
    slope_y = np.einsum("kcpa,kcpa->kcp", values, around.in_y[point])
    normal_x, normal_y = np.cos(angle), np.sin(angle)
    return np.stack([slope_x @ normal_x, slope_y @ normal_y, 0.5 * (slope_x @ normal_y + slope_y @ normal_x)], axis=-1)


def components(average: Array, nu: float) -> tuple[Array, Array]:
    """M at the outer circle (k,), and the deviator ((Mx - My) / 2, Mxy) as (k, 2, 2): at the centre, and per r^2 / r1^2."""
    xx, yy, xy = np.moveaxis(average, -1, 0)
    mean = -(1 + nu) * (xx[:, 0] + yy[:, 0]) / 2
    deviator = -(1 - nu) * np.stack([(xx - yy) / 2, xy], axis=-1)
    centre = 2 * deviator[:, 1] - deviator[:, 0]
    return mean, np.stack([centre, deviator[:, 0] - centre], axis=1)


def moment(c: Array, radius: Array, *, mean: Array, deviator: Array, reaction: Array, nu: Array | float,
           pressure: Array | float = 1.0) -> Array:
    """Largest principal moment averaged over a disc of radius c at each anchor, per unit of pressure.

    All arrays (k,) except deviator (k, 2, 2) from `components`; lengths in one unit.  nu: Poisson's ratio.
    """
    ratio = c / radius
    shift = reaction / (4 * np.pi) * np.log(1 / ratio) - pressure * (radius**2 - c**2) / 16
    at_c = deviator[:, 0] + deviator[:, 1] * np.square(ratio)[..., None]
    return np.abs(mean - (1 + nu) * shift) + np.hypot(at_c[..., 0], at_c[..., 1])
