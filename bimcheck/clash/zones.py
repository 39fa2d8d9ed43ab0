"""Zones behind the rear face against triangles, exactly: boxes and cylinders along the panel's normal.

Everything is in the frame of a panel, moved so that the anchor's axis is x = y = 0; z is the depth behind the rear face.
A triangle is cut to the zone's depth; what is left is a convex polygon whose outline, seen along the normal, is held
against the circle or cut by the rectangle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.clash.places import Floats, Ints

TOUCH = 0.05  # mm by which zones are smaller than stated: touching is not a clash


@dataclass(frozen=True)
class Zone:
    """half: half width and half height of a rectangle, or the radius twice where it is round; depth from 0 to `depth`; mm."""

    name: str
    half: tuple[float, float]
    depth: float
    round: bool = False


def enters(corners: Floats, zone: Zone) -> np.ndarray:
    """(k,) which triangles (k, 3, 3) share more than a touch with the zone."""
    hx, hy = zone.half[0] - TOUCH, zone.half[1] - TOUCH
    low, high = corners.min(axis=1), corners.max(axis=1)
    out = np.zeros(len(corners), dtype=bool)
    near = np.flatnonzero((low < [hx, hy, zone.depth - TOUCH]).all(axis=1) & (high > [-hx, -hy, TOUCH]).all(axis=1))
    if not len(near):
        return out
    points = sliced(corners[near], TOUCH, zone.depth - TOUCH)
    out[near] = _in_circle(points, hx) if zone.round else _in_rectangle(points, hx, hy)
    return out


def sliced(corners: Floats, low: float, high: float) -> Floats:
    """(k, 6, 2) outline seen along z of each triangle's part between low and high; nan where nothing is left.

    An edge of the triangle gives its part between the two planes: two points, so that six points in order go round
    the polygon (some of them twice).
    """
    start, end = corners, corners[:, [1, 2, 0]]
    za, zb = start[:, :, 2], end[:, :, 2]
    rise = zb - za
    with np.errstate(divide="ignore", invalid="ignore"):
        t_low, t_high = (low - za) / rise, (high - za) / rise
    level = rise == 0
    t0 = np.where(level, 0.0, np.clip(np.fmin(t_low, t_high), 0.0, 1.0))
    t1 = np.where(level, 1.0, np.clip(np.fmax(t_low, t_high), 0.0, 1.0))
    away = ((za < low) & (zb < low)) | ((za > high) & (zb > high))
    run = end[:, :, :2] - start[:, :, :2]
    first, last = (np.where(away[:, :, None], np.nan, start[:, :, :2] + t[:, :, None] * run) for t in (t0, t1))
    return _filled(np.stack([first, last], axis=2).reshape(len(corners), 6, 2))


def _filled(points: Floats) -> Floats:
    """Missing points repeat the one before them (going round), so that the ring stays closed."""
    for _ in range(2):
        for k in range(6):
            gap = np.isnan(points[:, k, 0])
            points[gap, k] = points[gap, k - 1]
    return points


def _in_circle(points: Floats, radius: float) -> np.ndarray:
    """Whether the convex ring comes within the radius of the axis."""
    a, b = points, np.roll(points, -1, axis=1)
    run = b - a
    square = (run**2).sum(axis=2)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.clip(np.where(square > 0, -(a * run).sum(axis=2) / square, 0.0), 0.0, 1.0)
    nearest = a + t[:, :, None] * run
    return ((nearest**2).sum(axis=2) < radius**2).any(axis=1) | _around(a, b, np.zeros(2))


def _in_rectangle(points: Floats, hx: float, hy: float) -> np.ndarray:
    """Separating axes: the rectangle's two and the normals of the ring's edges."""
    low, high = points.min(axis=1), points.max(axis=1)
    apart = (low[:, 0] >= hx) | (high[:, 0] <= -hx) | (low[:, 1] >= hy) | (high[:, 1] <= -hy) | np.isnan(low[:, 0])
    run = np.roll(points, -1, axis=1) - points
    for k in range(6):
        nx, ny = run[:, k, 1], -run[:, k, 0]
        along = points[:, :, 0] * nx[:, None] + points[:, :, 1] * ny[:, None]
        reach = hx * np.abs(nx) + hy * np.abs(ny)
        real = np.hypot(nx, ny) > 1e-9
        apart |= real & ((along.min(axis=1) >= reach) | (along.max(axis=1) <= -reach))
    return ~apart


def _around(a: Floats, b: Floats, point: Floats) -> np.ndarray:
    """Whether the ring goes round the point."""
    below = a[:, :, 1] <= point[1]
    crosses = below != (b[:, :, 1] <= point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        x = a[:, :, 0] + (point[1] - a[:, :, 1]) * (b[:, :, 0] - a[:, :, 0]) / (b[:, :, 1] - a[:, :, 1])
    return (np.where(crosses, x > point[0], False).sum(axis=1) % 2) == 1


def surrounds(corners: Floats, pair: Ints, count: int, depth: float) -> np.ndarray:
    """(count,) whether the closed body of each pair holds the point on the axis at `depth`: a ray outwards along z.

    For bodies whose surface does not come near the zone because the zone lies wholly inside.
    """
    # Off the axis by a hair, so that the ray runs through no edge of bodies centred on the anchor.
    moved = corners - np.array([1.37e-3, 2.11e-3, depth])
    a, b = moved[:, :, :2], np.roll(moved[:, :, :2], -1, axis=1)
    hit = _around(a, b, np.zeros(2))
    normal = np.cross(moved[:, 1] - moved[:, 0], moved[:, 2] - moved[:, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        z = (normal * moved[:, 0]).sum(axis=1) / normal[:, 2]
    return np.bincount(pair[hit & (z > 0)], minlength=count) % 2 == 1
