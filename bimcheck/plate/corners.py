"""Re-entrant corners: moments grow without bound towards them, as r^(lambda - 1).

lambda is the smallest root of the corner with two free edges,
    sin(lambda a) = +- lambda (1 - nu) / (3 + nu) sin a,    a the angle within the plate
(Williams, "Surface stress singularities resulting from various boundary conditions in angular corners of plates under
bending", 1952; from memory, the tests check it against the free-edge conditions).  Grid lines
stand closer beside such corners (lines.py).  The largest moment on circles of 0.15 to 0.6 of a cell about the corner is fitted by
A + B r^(lambda - 1) and read at the radius asked for; nearer than the circles never below what the inner ones show, farther
as on the outermost.  Good to about 5 %.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.plate.hermite import Array, Grid

LOCAL = 0.3  # of a cell: the length that circles are counted in
STRAIGHT = np.radians(190.0)  # smaller angles within the plate are left to the field
CIRCLES = np.array([0.5, 0.75, 1.0, 1.5, 2.0, 3.0])  # in local cells
INNER = 3  # circles whose own largest moment is a floor
RAYS = np.linspace(0.1, 0.9, 7)  # of the angle: along the edges themselves the cut cells are rough
TYPICAL = 0.7  # local cells: the radius at which corners of one plate are compared


@dataclass(frozen=True)
class Corners:
    """at: (k, 2) re-entrant corners.  points: (k, circles, rays, 2) about them, inside: which of these lie in the plate.
    radius: one local cell; hidden: where the field is not read.  exponent: the smallest lambda.  All in plate units."""

    at: Array
    points: Array
    inside: NDArray[np.bool_]
    radius: Array | float
    hidden: Array | float
    exponent: float

    @property
    def fit(self) -> Array:
        """(2, circles) least-squares weights that give A and B, B at one local cell."""
        return np.linalg.pinv(np.column_stack([np.ones(len(CIRCLES)), CIRCLES ** (self.exponent - 1)]))


def nowhere(grid: Grid) -> Corners:
    """No re-entrant corner."""
    shape = (0, len(CIRCLES), len(RAYS))
    return Corners(np.empty((0, 2)), np.empty((*shape, 2)), np.empty(shape, dtype=bool), LOCAL * grid.size, grid.size, 1.0)


def reentrant(grid: Grid, polygon: shapely.Polygon, nu: float) -> Corners:
    """Re-entrant corners of the outline and the cut-outs."""
    at, start, angle = sharp(polygon)
    ray = start[:, None] + angle[:, None] * RAYS
    radius = LOCAL * grid.size
    circle = np.stack([np.cos(ray), np.sin(ray)], axis=-1)[:, None]
    points = at[:, None, None] + radius * CIRCLES[:, None, None] * circle
    inside = shapely.contains_xy(polygon, points[..., 0], points[..., 1])
    exponent = min((singular_exponent(a, nu) for a in np.unique(np.round(angle, 6))), default=1.0)
    return Corners(at, points, inside, radius, grid.size, exponent)


def sharp(polygon: shapely.Polygon) -> tuple[Array, Array, Array]:
    """Re-entrant corners (k, 2), direction of the edge that leaves them and angle within the plate (k,)."""
    turned = shapely.orient_polygons(polygon, exterior_cw=False)
    rings = [np.asarray(ring.coords)[:-1] for ring in (turned.exterior, *turned.interiors)]
    at = np.concatenate(rings)
    ahead = np.concatenate([np.roll(r, -1, axis=0) - r for r in rings])
    back = np.concatenate([np.roll(r, 1, axis=0) - r for r in rings])
    start = np.arctan2(ahead[:, 1], ahead[:, 0])
    angle = np.mod(np.arctan2(back[:, 1], back[:, 0]) - start, 2 * np.pi)
    keep = angle > STRAIGHT
    return at[keep], start[keep], angle[keep]


def singular_exponent(angle: float, nu: float) -> float:
    """Smallest lambda of a corner of `angle` (radians, above pi) between two free edges, at most 1."""
    x = np.linspace(0.4, 0.999, 61)
    roots = [1.0]
    for sign in (1.0, -1.0):
        share = sign * (1 - nu) / (3 + nu) * np.sin(angle)
        values = np.sin(x * angle) + share * x
        for k in np.flatnonzero(values[1:] * values[:-1] < 0)[:1]:
            roots.append(_root(angle, share, float(x[k]), float(x[k + 1])))
    return min(roots)


def _root(angle: float, share: float, low: float, high: float) -> float:
    """By halving: the bracket holds one root, and SciPy's solvers take longer to load than a run takes here."""
    rising = np.sin(high * angle) + share * high > 0
    for _ in range(50):
        middle = (low + high) / 2
        if (np.sin(middle * angle) + share * middle > 0) == rising:
            high = middle
        else:
            low = middle
    return (low + high) / 2


def fitted(corners: Corners, moments: Array) -> Array:
    """(m, 3) A, B and floor of the worst corner from Mx, My, Mxy (m, k, circles, rays, 3) at its points."""
    mx, my, mxy = np.moveaxis(moments, -1, 0)
    size = np.abs(mx + my) / 2 + np.hypot((mx - my) / 2, mxy)
    largest = np.where(corners.inside, size, 0.0).max(axis=-1)
    largest = np.where(largest > 0, largest, largest.max(axis=-1, keepdims=True))
    straight = largest @ corners.fit.T
    floor = largest[..., :INNER].max(axis=-1)
    candidates = np.concatenate([straight, floor[..., None]], axis=-1)
    worst = np.argmax(at_radius(candidates, np.array(TYPICAL), corners.exponent), axis=1)
    return candidates[np.arange(len(candidates)), worst]


def at_radius(fit: Array, ratio: Array, exponent: Array | float) -> Array:
    """(...) moment at `ratio` local cells from a corner, from (..., 3) fits."""
    straight = fit[..., 0] + fit[..., 1] * np.minimum(ratio, CIRCLES[-1]) ** (exponent - 1)
    return np.where(ratio < CIRCLES[0], np.maximum(straight, fit[..., 2]), straight)
