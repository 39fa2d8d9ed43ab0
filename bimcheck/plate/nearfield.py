"""What a cell is too coarse to see of a point force: the grid's deflection right under it comes out too small.

The energy of the logarithmic field that cubics miss sits within the cell and depends only on the place in it and on the
cell's aspect, in proportion to its size squared; Poisson's ratio drops out.  MISSED was computed once by refining the
cells of a clamped patch eight times (the tests compute it again).
"""

from __future__ import annotations

import numpy as np

from bimcheck.plate.hermite import Array, Grid, Located

ASPECT = np.array([0.15, 0.25, 0.35, 0.5, 0.7, 1.0])  # shorter over longer side of a cell
# Missed deflection under a unit force over (longer side)^2 / D, in 1e-4, at s, t = 0, 1/4, 1/2 (s along the longer side).
MISSED = np.array([
    [[14.94, 15.00, 15.05], [9.91, 9.99, 10.08], [19.94, 19.95, 19.86]],
    [[14.90, 15.22, 15.80], [12.45, 12.75, 13.34], [26.15, 26.38, 26.69]],
    [[14.26, 14.91, 16.29], [13.85, 14.46, 15.94], [29.30, 29.86, 30.95]],
    [[14.38, 15.66, 18.89], [15.51, 16.62, 20.17], [31.75, 32.97, 35.91]],
    [[15.94, 18.15, 25.23], [18.18, 20.00, 27.62], [34.40, 36.58, 43.25]],
    [[20.68, 24.13, 39.76], [24.13, 26.90, 43.29], [39.76, 43.29, 58.21]],
])
_TO_COSINES = np.linalg.inv(np.cos(2 * np.pi * np.outer([0, 0.25, 0.5], np.arange(3))))
REACH = 0.3  # of the longer side: the missed deflection fades like exp(-(d / reach)^2)


def missed(grid: Grid, at: Located) -> Array:
    """(p,) deflection under a unit force that the grid misses, plate units, D = 1."""
    wide, high = (np.broadcast_to(h if ratio is None else h * ratio, at.s.shape)
                  for h, ratio in ((grid.hx, at.wide), (grid.hy, at.high)))
    longer = np.maximum(wide, high)
    turned = wide < high
    s, t = np.where(turned, at.t, at.s), np.where(turned, at.s, at.t)
    waves_s, waves_t = (np.cos(2 * np.pi * np.multiply.outer(k, np.arange(3))) for k in (s, t))
    return longer**2 * np.einsum("ip,ipq,iq->i", waves_s, _cosines(np.minimum(wide, high) / longer), waves_t)


def _cosines(aspect: Array) -> Array:
    """(p, 3, 3) coefficients of cosines in s and t."""
    place = np.interp(np.log(aspect), np.log(ASPECT), np.arange(len(ASPECT)))
    low = np.minimum(place.astype(int), len(ASPECT) - 2)
    values = MISSED[low] + (place - low)[:, None, None] * (MISSED[low + 1] - MISSED[low])
    return 1e-4 * _TO_COSINES @ values @ _TO_COSINES.T


def fading(grid: Grid, distance: Array) -> Array:
    """Share of the missed deflection at a distance from the force."""
    return np.exp(-np.square(distance / (REACH * grid.size)))
