"""Re-entrant corners: moments grow without bound towards them, as r^(lambda - 1).

lambda is the smallest root of the corner with two free edges,
    sin(lambda a) = +- lambda (1 - nu) / (3 + nu) sin a,    a the angle within the plate
(Williams, "Surface stress singularities resulting from various boundary conditions in angular corners of plates under
bending", 1952; from memory, the tests check it against the free-edge conditions).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.optimize import brentq

from bimcheck.plate.hermite import Array
from bimcheck.plate.response import Response
from bimcheck.plate.shape import Plate

STRAIGHT = np.radians(190.0)  # corners opener than this are left to the field
RADIUS = 1.0  # where the field is read about a corner, in cells
RAYS = 7


@dataclass(frozen=True)
class Corners:
    """points: (k, RAYS, 2) about k re-entrant corners at `radius` (plate units); exponent: the smallest lambda."""

    at: Array
    points: Array
    radius: float
    exponent: float


def reentrant(plate: Plate) -> Corners:
    """Re-entrant corners of the outline and the cut-outs."""
    radius = RADIUS * max(plate.grid.hx, plate.grid.hy)
    if plate.whole:
        return Corners(np.empty((0, 2)), np.empty((0, RAYS, 2)), radius, 1.0)
    polygon = shapely.orient_polygons(plate.polygon, exterior_cw=False)
    rings = [np.asarray(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    at = np.concatenate(rings)
    forward = np.concatenate([np.roll(r, -1, axis=0) - r for r in rings])
    back = np.concatenate([np.roll(r, 1, axis=0) - r for r in rings])
    start = np.arctan2(forward[:, 1], forward[:, 0])
    angle = np.mod(np.arctan2(back[:, 1], back[:, 0]) - start, 2 * np.pi)
    keep = angle > STRAIGHT
    at, start, angle = at[keep], start[keep], angle[keep]
    ray = start[:, None] + angle[:, None] * np.linspace(0.02, 0.98, RAYS)
    points = at[:, None] + radius * np.stack([np.cos(ray), np.sin(ray)], axis=-1)
    exponent = min((singular_exponent(a, plate.nu) for a in np.unique(np.round(angle, 6))), default=1.0)
    return Corners(at, points, radius, exponent)


def singular_exponent(angle: float, nu: float) -> float:
    """Smallest lambda in (1/2, 1] of a corner of `angle` (radians, above pi) between two free edges."""
    roots = [1.0]
    for sign in (1.0, -1.0):
        def condition(x: float, sign: float = sign) -> float:
            return np.sin(x * angle) + sign * x * (1 - nu) / (3 + nu) * np.sin(angle)
        grid = np.linspace(0.4, 0.999, 61)
        values = np.array([condition(x) for x in grid])
        for k in np.flatnonzero(values[1:] * values[:-1] < 0)[:1]:
            roots.append(float(brentq(condition, grid[k], grid[k + 1])))
    return min(roots)


def moment(response: Response, sharp: Corners) -> Array:
    """(m,) largest principal moment about the corners; 0 where there are none."""
    m = len(response.fields)
    inside = shapely.contains_xy(response.plate.polygon, sharp.points[..., 0], sharp.points[..., 1])
    points = sharp.points[inside]
    if not len(points):
        return np.zeros(m)
    values = response.moments(np.broadcast_to(points, (m, *points.shape)), np.arange(m))
    mean, half = (values[..., 0] + values[..., 1]) / 2, (values[..., 0] - values[..., 1]) / 2
    return np.max(np.abs(mean) + np.hypot(half, values[..., 2]), axis=1)
