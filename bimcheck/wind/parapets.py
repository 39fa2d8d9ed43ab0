"""Free-standing part of a parapet above the roof, EN 1991-1-4:2005 7.4.1 (figures from memory)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bimcheck.core.units import Array
from bimcheck.wind.tables import number, rows

# Ends of the zones A, B, C from the wall's end, in heights of the wall (Figure 7.19).
ZONE_ENDS = (0.3, 2.0, 4.0)


def net_coefficient(s: ArrayLike, length: ArrayLike, height: float, returns: bool) -> Array:
    """c_p,net at distance s from the nearer end (Table 7.9, solidity 1; linear in l/h, held beyond the table).

    s, length: (n,) in the unit of `height`.
    """
    table = [r for r in rows("en1991_1_4_parapets") if r["return_corners"] == ("yes" if returns else "no")]
    steps = [number(r, "l_over_h", "parapet table") for r in table]
    zone = np.searchsorted(ZONE_ENDS, np.asarray(s, dtype=float) / height, side="right")
    slender = np.asarray(length, dtype=float) / height
    by_zone = [np.interp(slender, steps, [number(r, z, "parapet table") for r in table]) for z in "ABCD"]
    return np.choose(zone, by_zone)
