"""Where issues stand on the elevations."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table

SEVERITY = {"error": 0, "warning": 1, "info": 2}


@dataclass(frozen=True)
class Mark:
    """An issue on its facade: mm from the left end and above ground, severity 0 to 2, number of its group, rows of elements."""

    facade: int
    s: float
    z: float
    severity: int
    number: int
    element: int
    other: int


def drawable(panels: Table) -> NDArray[np.bool_]:
    """(n,) whether a panel shows on the elevation of a facade; soffits and what has no facade do not."""
    return np.isfinite(panels["s_left"]) & (panels["facade_index"] >= 0) & (panels["z_top"] > panels["z_bottom"]) & (panels["width"] > 0)


def marks(panels: Table, rows: Table) -> list[Mark]:
    """Marks of the standing issues that name a panel of a facade; without a place of its own an issue stands in its middle."""
    size = int(max(panels["element"].max(initial=-1), rows["panel"].max(initial=-1))) + 1
    row_of = np.full(size + 1, -1)
    row_of[panels["element"]] = np.arange(panels.n)
    row = np.where(rows["panel"] >= 0, row_of[rows["panel"]], -1)
    stands = np.isin(rows["state"].astype(str), ("new", "open")) & (row >= 0)
    kept = np.flatnonzero(stands)
    kept = kept[drawable(panels)[row[kept]]]
    on = row[kept]
    width, rise = panels["width"][on], panels["z_top"][on] - panels["z_bottom"][on]
    x, y = (rows[k][kept] if k in rows else np.full(len(kept), np.nan) for k in ("x_panel", "y_panel"))
    y = y * rise / np.where(panels["height"][on] > 0, panels["height"][on], np.nan)
    inside = np.isfinite(x) & np.isfinite(y)
    s = panels["s_left"][on] + np.clip(np.where(inside, x, width / 2), 0.0, width)
    z = panels["z_bottom"][on] + np.clip(np.where(inside, y, rise / 2), 0.0, rise)
    severity = [SEVERITY.get(v, 2) for v in rows["severity"][kept].tolist()]
    columns = (panels["facade_index"][on].tolist(), s.tolist(), z.tolist(), severity, rows["no"][kept].tolist(), rows["panel"][kept].tolist(),
               rows["other_panel"][kept].tolist())
    return [Mark(*values) for values in zip(*columns, strict=True)]
