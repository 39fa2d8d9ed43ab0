"""Moments at the anchors, averaged over discs: a point moment is log-singular and never read at the point.

The average of a second derivative over a disc is 2 / r times the average of slope x normal on its circle.  With
M = (Mx + My) / 2 the plate's equation makes M's average exact in the radius,
    M(c) = M(r) - (1 + nu) [R / (4 pi) ln(r / c) - q (r^2 - c^2) / 16],
and the deviator's average exactly linear in r^2, so that two radii carry it to any third.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.plate.hermite import Array, Grid, Index, along, locate, patch, weights

CELLS = 2.0  # largest radius in cells
WITHIN = 0.98  # of the distance to the nearest edge
POINTS = 32  # on a circle
SMALLEST = 1e-6  # radius in plate units; an anchor on the edge has no disc


@dataclass(frozen=True)
class Circles:
    """Two circles about each of p points, and what takes a field to averaged second derivatives.

    rows: (p, 2, POINTS, 16) flat tensor coefficients, in_x and in_y: weights of the same shape.
    """

    rows: Index
    in_x: Array
    in_y: Array


def radii(cell: Array | float, edge: Array, apart: Array) -> Array:
    """(k,) radius of the outer circle: within the plate, off every other anchor; nan where there is no room.

    cell: longer side of a cell, one for all or (k,).  edge, apart: (k,) distance to the nearest edge and to the nearest
    other anchor.
    """
    radius = np.minimum(CELLS * cell, WITHIN * np.minimum(edge, apart))
    return np.where(radius > SMALLEST, radius, np.nan)


def circles(grid: Grid, points: Array, radius: Array) -> Circles:
    """Circles of radius (p,) and radius / sqrt 2 about points (p, 2)."""
    angle = (np.arange(POINTS) + 0.5) * (2 * np.pi / POINTS)
    normal = np.column_stack([np.cos(angle), np.sin(angle)])
    both = radius[:, None] * np.array([1.0, np.sqrt(0.5)])
    at = locate(grid, points[:, None, None] + both[..., None, None] * normal)
    scale = (2.0 / POINTS / both)[..., None, None, None]
    shape = (*at.s.shape, 16)
    return Circles(
        patch(at, grid.shape[1]).reshape(shape),
        (scale * weights(grid, at, dx=1)).reshape(shape),
        (scale * weights(grid, at, dy=1)).reshape(shape),
    )


def averages(grid: Grid, fields: Array, points: Array, radius: Array, owner: Index) -> Array:
    """(k, 2, 3) averaged w_xx, w_yy, w_xy on both circles about points (k, 2) in fields[owner[k]] (flat tensor order).

    grid: of all fields, or one a field.
    """
    own = grid.take(owner)
    keys = points @ [1.0, np.pi] + np.e * np.nan_to_num(radius) + np.sqrt(2) * own.hx + np.sqrt(3) * own.hy
    _, first, same = np.unique(keys, return_index=True, return_inverse=True)
    around = circles(own.take(first), points[first], np.nan_to_num(radius[first], nan=1.0))
    angle = (np.arange(POINTS) + 0.5) * (2 * np.pi / POINTS)
    values = fields.ravel()[owner[:, None, None, None] * fields.shape[1] + around.rows[same]]
    slope_x = np.einsum("kcpa,kcpa->kcp", values, around.in_x[same])
    slope_y = np.einsum("kcpa,kcpa->kcp", values, around.in_y[same])
    normal_x, normal_y = np.cos(angle), np.sin(angle)
    xx, yy, xy, yx = (np.einsum("kcp,p->kc", s, n) for s, n in ((slope_x, normal_x), (slope_y, normal_y), (slope_x, normal_y), (slope_y, normal_x)))
    return np.stack([xx, yy, 0.5 * (xy + yx)], axis=-1)


def components(average: Array, nu: Array | float) -> tuple[Array, Array]:
    """M at the outer circle (k,), and the deviator ((Mx - My) / 2, Mxy) as (k, 2, 2): at the centre, and per r^2 / r1^2.

    nu: one for all or (k,).
    """
    xx, yy, xy = np.moveaxis(average, -1, 0)
    mean = -(1 + nu) * (xx[:, 0] + yy[:, 0]) / 2
    deviator = -(1 - along(nu, 3)) * np.stack([(xx - yy) / 2, xy], axis=-1)
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
