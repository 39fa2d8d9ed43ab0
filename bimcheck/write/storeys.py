"""Storeys of a facade, for elevations."""

from __future__ import annotations

import numpy as np

from bimcheck.core.tables import Table


def storeys(panels: Table) -> list[tuple[str, float]]:
    """Storeys by the lowest panel of each (mm above ground), from below."""
    if "storey" not in panels:
        return []
    names, index = np.unique(panels["storey"].astype(str), return_inverse=True)
    lowest = [float(panels["z_bottom"][index == k].min()) for k in range(len(names))]
    return sorted(((str(n), z) for n, z in zip(names, lowest, strict=True) if n), key=lambda pair: (pair[1], pair[0]))
