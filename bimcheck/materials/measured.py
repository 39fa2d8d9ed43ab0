"""Measured thicknesses: what a list says of panels replaces the nominal thickness and its tolerance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.issue import Issue
from bimcheck.core.listed import panels_named, read
from bimcheck.core.tables import Table, Tables
from bimcheck.core.units import Array

_T = "t_mm"


@dataclass(frozen=True)
class Measured:
    """Of every panel (n,): least and greatest reading in mm, nan where there is none; lot as listed, blank where none."""

    least: Array
    greatest: Array
    lot: NDArray[np.object_]

    @property
    def there(self) -> NDArray[np.bool_]:
        return ~np.isnan(self.least)

    @staticmethod
    def none(n: int) -> Measured:
        return Measured(np.full(n, np.nan), np.full(n, np.nan), np.full(n, "", dtype=object))


def read_measured(path: Path, panels: Table, partial: bool = False) -> Measured:
    """Readings from a CSV: guid or mark, t_mm, and, where panels are drilled in lots of their own, lot.

    A panel may have several rows: its least reading counts for strength, its greatest for weight and recess.
    partial: other panels than those of the run may be listed.  Raises InputError for what cannot be read, and for a panel in two lots.
    """
    listed, panel = panels_named(read(path, (_T,), "measured thicknesses", "[drilling] measured"), panels, partial)
    t = listed.numbers(_T, "state millimetres")
    for k in np.flatnonzero(t <= 0)[:1].tolist():
        listed.refuse(k, f"a thickness of {t[k]:g} mm", "state millimetres above 0")
    least, greatest = np.full(panels.n, np.inf), np.full(panels.n, -np.inf)
    np.minimum.at(least, panel, t)
    np.maximum.at(greatest, panel, t)
    lot = np.full(panels.n, "", dtype=object)
    for k, row in enumerate(panel.tolist()):
        said = listed.rows[k].get("lot", "")
        if said and lot[row] and lot[row] != said:
            listed.refuse(k, f"a panel in lot {lot[row]} and in lot {said}", "state one lot a panel")
        lot[row] = said or lot[row]
    return Measured(np.where(np.isinf(least), np.nan, least), np.where(np.isinf(greatest), np.nan, greatest), lot)


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """thickness-measured: a panel measured outside the tolerance of its material, a warning each."""
    panels = tables["panels"]
    if "t_off" not in panels:
        return []
    off = panels["t_off"]
    return [_issue(panels, i) for i in np.flatnonzero(np.abs(np.nan_to_num(off)) > 5e-3).tolist()]


def _issue(panels: Table, i: int) -> Issue:
    off, nominal = float(panels["t_off"][i]), float(panels["thickness"][i])
    worst = float(panels["t_max"][i] if off > 0 else panels["t_min"][i])
    return Issue("thickness-measured", "warning", f"measured {worst:.1f} mm, {abs(off):.1f} mm {'above' if off > 0 else 'below'} what the tolerance of "
                 f"nominal {nominal:.1f} mm allows", panel=int(panels["element"][i]), measured=worst, required=worst - off, unit="mm",
                 way_out="check the reading; results count with the measured thickness")
