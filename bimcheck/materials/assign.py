"""Which row each panel has, and the columns that follow from it."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.core.units import factor
from bimcheck.materials.catalogue import UNKNOWN, Row, match
from bimcheck.materials.measured import Measured


def assign(panels: Table, table: list[Row], measured: Measured | None = None) -> Table:
    """Add the material columns of the vocabulary.

    panels: reads `material_name`, `thickness`, `thickness_max`, `lot`.  table: rows of the run.  measured: readings that
    replace nominal thickness and tolerance; measured panels make up lots of their own.
    """
    known = measured or Measured.none(panels.n)
    index = rows_of(panels["material_name"], table)
    tolerance = _column(table, index, "thickness_tolerance")
    t, t_max = panels["thickness"], np.fmax(panels["thickness_max"], panels["thickness"])
    low, high = t * (1 - tolerance), t_max * (1 + tolerance)
    lot = np.where(known.lot != "", known.lot, np.where(known.there, panels["lot"] + " measured", panels["lot"]))
    return panels.with_columns(
        material=np.array([r.name for r in table], dtype=object)[index],
        material_index=index,
        density=_column(table, index, "density_kg_m3"),
        E_mod=_column(table, index, "E_GPa") * factor("GPa"),
        nu=_column(table, index, "nu"),
        alpha_T=_column(table, index, "alpha_per_K"),
        eps_moisture=_column(table, index, "moisture_strain"),
        t_min=np.where(known.there, known.least, low),
        t_max=np.where(known.there, known.greatest, high),
        measured=known.there,
        t_off=_outside(known, low, high),
        lot=lot,
        f_k=_column(table, index, "flexural_MPa"),
        eta_flex=np.array([r.eta for r in table])[index],
        gamma_flex=_column(table, index, "flexural_factor"),
        gamma_anchor=_column(table, index, "anchor_factor"),
        k_hole=_column(table, index, "k_hole"),
        face=np.array([r.data.face for r in table], dtype=object)[index],
        t_code=_column(table, index, "minimum_thickness_mm", empty=0.0),
        natural_stone=np.array([r.data.natural_stone for r in table], dtype=bool)[index],
        assumed_material=np.array([", ".join(r.assumed) for r in table], dtype=object)[index],
    )


def rows_of(names: NDArray[Any], table: list[Row]) -> NDArray[np.int64]:
    """Row of each material name; `unknown` where nothing matches.  Each distinct name is matched once."""
    unknown = next(i for i, r in enumerate(table) if r.name == UNKNOWN)
    distinct = {str(name): match(str(name), table) for name in set(names.tolist())}
    return np.array([distinct[str(n)] if distinct[str(n)] >= 0 else unknown for n in names], dtype=np.int64)


def _column(table: list[Row], index: NDArray[np.int64], key: str, empty: float = np.nan) -> NDArray[np.float64]:
    values = [getattr(r.data, key) for r in table]
    return np.array([empty if v is None else float(v) for v in values])[index]


def _outside(known: Measured, low: NDArray[np.float64], high: NDArray[np.float64]) -> NDArray[np.float64]:
    """mm by which readings lie above (or, negative, below) the tolerance; nan where nothing was measured."""
    above, below = known.greatest - high, known.least - low
    return np.where(above > 0, above, np.minimum(below, 0.0))
