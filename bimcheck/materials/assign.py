"""Which row each panel has, and the columns that follow from it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.core.units import factor
from bimcheck.materials.catalogue import UNKNOWN, Row, match


def assign(panels: Table, table: list[Row], measured: Mapping[str, float] | None = None) -> Table:
    """Add the material columns of the vocabulary.

    panels: reads `material_name`, `thickness`, `thickness_max`, `guid`, `mark`.  table: rows of the run.
    measured: thickness in mm by GlobalId or mark, replacing nominal less tolerance.
    """
    index = rows_of(panels["material_name"], table)
    tolerance = _column(table, index, "thickness_tolerance")
    t, t_max = panels["thickness"], np.fmax(panels["thickness_max"], panels["thickness"])
    t_meas = _measured(panels, measured or {})
    return panels.with_columns(
        material=np.array([r.name for r in table], dtype=object)[index],
        material_index=index,
        density=_column(table, index, "density_kg_m3"),
        E_mod=_column(table, index, "E_GPa") * factor("GPa"),
        nu=_column(table, index, "nu"),
        alpha_T=_column(table, index, "alpha_per_K"),
        eps_moisture=_column(table, index, "moisture_strain"),
        t_min=np.where(np.isnan(t_meas), t * (1 - tolerance), t_meas),
        t_max=np.where(np.isnan(t_meas), t_max * (1 + tolerance), np.fmax(t_meas, t_max)),
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


def _measured(panels: Table, measured: Mapping[str, float]) -> NDArray[np.float64]:
    if not measured:
        return np.full(panels.n, np.nan)
    return np.array([measured.get(g, measured.get(m, np.nan)) for g, m in zip(panels["guid"], panels["mark"], strict=True)])
