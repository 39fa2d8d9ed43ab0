"""Roughly what an error of one support costs, for ranking only; what is chosen is always solved.

Four anchors twist the plate: F = 2 (1 - nu) D delta / (s_x s_y) between free corners at the spacings s, stiffened by what
overhangs, about sqrt(A / (s_x s_y)).  With more anchors the nearest ones bend: a strip over two spans s as wide as the
tributary height, F = 6 D delta b / s^3.  Springs are in line with both.  Within a fifth for four anchors, a half for more.
"""

from __future__ import annotations

import numpy as np

from bimcheck.core.units import Array

IN_LINE = 1.5  # springs in line with a bent strip: 1 + 1/4 + 1/4
TWISTED = 4.0  # and with a twisted panel: all four


def force_per_error(points: Array, area: Array, nu: Array, softness: Array) -> Array:
    """(k,) greatest force per D and unit error [1/mm2] of layouts (k, n, 2) on panels of area (k,) [mm2]; softness D / k
    of a support (k,) [mm2]; 0 where softness is 0 (no error asked for) and for three anchors (statically determinate)."""
    n = points.shape[1]
    if n < 4 or not (softness > 0).any():
        return np.zeros(len(points))
    spread = np.ptp(points, axis=1)
    between = np.maximum(spread[:, 0] * spread[:, 1], 1e-9)
    flexible = between**1.5 / (2 * (1 - nu) * np.sqrt(area)) + TWISTED * softness
    if n > 4:
        s = _nearest(points)
        flexible = np.minimum(flexible, s**3 / (6 * area / n / s) + IN_LINE * softness)
    return np.where(softness > 0, 1 / flexible, 0.0)


def _nearest(points: Array) -> Array:
    """(k,) least distance between two anchors."""
    apart = np.linalg.norm(points[:, :, None] - points[:, None], axis=-1)
    n = points.shape[1]
    apart[:, np.arange(n), np.arange(n)] = np.inf
    return np.maximum(apart.min(axis=(1, 2)), 1e-9)
