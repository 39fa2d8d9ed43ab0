"""Direction factors of EN 1991-1-4:2005 4.2 for the winds that matter to a facade."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bimcheck.core.columns import Column
from bimcheck.core.errors import InputError
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, ratio

SPREAD = 45.0  # degrees to either side of the axis considered


def largest_factor(bearing: Array, c_dir: Sequence[float]) -> Array:
    """Largest factor within +-45 degrees of the bearing the wind comes from.

    bearing: degrees clockwise from north, any shape.  c_dir: (k,) factors of equal sectors, the first centred on north.
    """
    factors = np.asarray(c_dir, dtype=float)
    centres = np.arange(len(factors)) * 360.0 / len(factors)
    away = np.abs((np.asarray(bearing)[..., None] - centres + 180.0) % 360.0 - 180.0)
    return np.where(away < SPREAD + 180.0 / len(factors) - 1e-6, factors, -np.inf).max(axis=-1)


@rule("facades", adds=[Column("c_dir_square", "1", "direction factor, wind square to the facade"),
                       Column("c_dir_left", "1", "direction factor, wind from the left, seen from outside"),
                       Column("c_dir_right", "1", "direction factor, wind from the right"),
                       Column("c_dir_back", "1", "direction factor, wind from behind")],
      clause="EN 1991-1-4 4.2(2) Note 2", formula="c_dir = greatest within +-45 degrees of the wind's axis", section="wind")
def direction_factors(facade_n: ratio, *, c_dir: Sequence[float] = (1.0,), north_deg: float | None = None) -> tuple[Array, ...]:
    """Factors for the four winds on a facade."""
    if not len(c_dir) or min(c_dir) <= 0:
        raise InputError("direction factors must be above 0", "[wind] c_dir", "give at least one factor")
    if north_deg is None and len(set(c_dir)) > 1:
        raise InputError("direction factors differ, but where north lies is not stated", "[wind] north_deg",
                         "give the bearing of the model's y axis")
    x, y = facade_n[:, 0], facade_n[:, 1]
    normal = np.degrees(np.arctan2(x, y)) + (north_deg or 0.0)
    # Seen from outside the left lies 90 degrees clockwise (seen from above) of the outward normal.
    return tuple(largest_factor(normal + turn, c_dir) for turn in (0.0, 90.0, -90.0, 180.0))
