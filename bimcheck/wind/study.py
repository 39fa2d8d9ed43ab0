"""A table of pressures from a wind-tunnel study: read, refuse gaps and overlaps, look up the worst over an area.

Columns: facade, z_from_m, z_to_m (above ground), s_from_m, s_to_m (from the facade's left end, seen from outside),
suction_kPa (<= 0), pressure_kPa (>= 0), basis (characteristic, strength or asd; the same in all rows).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.units import Array, factor
from bimcheck.wind.tables import number, rows

KEYS = ("z_from_m", "z_to_m", "s_from_m", "s_to_m", "suction_kPa", "pressure_kPa")
BASES = ("characteristic", "strength", "asd")
M, KPA = factor("m"), factor("kPa")
SLACK = 1.0  # mm by which a panel may reach over the table's edge


@dataclass(frozen=True)
class Study:
    """facade: (m,) names; boxes: (m, 4) z0, z1, s0, s1 in mm; suction, pressure: (m,) MPa; basis of all rows."""

    facade: NDArray
    boxes: Array
    suction: Array
    pressure: Array
    basis: str

    def of(self, facade: str) -> NDArray[np.int64]:
        return np.flatnonzero(self.facade == facade)


def study(path: str) -> Study:
    """Read and check a table.  Raises InputError naming the row or place that is wrong."""
    if not path:
        raise InputError("no table of pressures", "[wind] table", "give the CSV file of the wind-tunnel study")
    found = rows(path if path.endswith(".csv") else path + ".csv")
    values = np.array([[number(r, key, f"{path} row {i}") for key in KEYS] for i, r in enumerate(found, 2)]).reshape(-1, 6)
    for i, (z0, z1, s0, s1, suction, pressure) in enumerate(values, 2):
        if not (z0 < z1 and s0 < s1 and suction <= 0 <= pressure):
            raise InputError("a range must rise, suction must be at most 0 and pressure at least 0", f"{path} row {i}", "correct the row")
    bases = {str(r.get("basis", "")).strip() for r in found}
    if len(bases) != 1 or not bases <= set(BASES):
        raise InputError(f"one basis is needed in all rows, found {', '.join(sorted(bases)) or 'none'}", path, f"use one of {', '.join(BASES)}")
    table = Study(np.array([str(r.get("facade", "")).strip() for r in found], dtype=object), values[:, :4] * M,
                  values[:, 4] * KPA, values[:, 5] * KPA, bases.pop())
    for name in dict.fromkeys(table.facade):
        _refuse_gaps(name, table.boxes[table.of(name)], path)
    return table


def _refuse_gaps(facade: str, boxes: Array, path: str) -> None:
    """Every piece between the table's own lines lies in exactly one row."""
    z, s = np.unique(boxes[:, :2]), np.unique(boxes[:, 2:])
    covered = np.zeros((len(z) - 1, len(s) - 1), dtype=int)
    for z0, z1, s0, s1 in boxes:
        covered[np.searchsorted(z, z0):np.searchsorted(z, z1), np.searchsorted(s, s0):np.searchsorted(s, s1)] += 1
    for what, wrong in (("overlap", covered > 1), ("leave a gap", covered < 1)):
        if wrong.any():
            i, j = np.argwhere(wrong)[0]
            place = f"facade {facade}, height {z[i] / M:g} to {z[i + 1] / M:g} m, {s[j] / M:g} to {s[j + 1] / M:g} m from its left end"
            raise InputError(f"rows of the table {what}", f"{path}: {place}", "correct the ranges")


@dataclass(frozen=True)
class Areas:
    """Loaded areas: facade name and extents z0, z1, s0, s1 in mm, each (n,)."""

    facade: NDArray
    z0: Array
    z1: Array
    s0: Array
    s1: Array


def worst(table: Study, areas: Areas, path: str) -> tuple[Array, Array]:
    """Worst suction and pressure of the rows each area touches, MPa; nan where a coordinate is nan.

    Raises InputError naming the first area that the table does not cover.
    """
    suction, pressure = np.full(len(areas.z0), np.nan), np.full(len(areas.z0), np.nan)
    for name, members in _by_facade(areas):
        cells = table.of(name)
        _refuse_outside(name, areas, members, table.boxes[cells], path)
        suction[members], pressure[members] = 0.0, 0.0
        for cell in cells:
            touched = members[_touches(areas, members, table.boxes[cell])]
            suction[touched] = np.minimum(suction[touched], table.suction[cell])
            pressure[touched] = np.maximum(pressure[touched], table.pressure[cell])
    return suction, pressure


def _by_facade(areas: Areas) -> Iterator[tuple[str, NDArray[np.int64]]]:
    """Facade names with the rows whose place is known."""
    known = np.isfinite(areas.z0 + areas.z1 + areas.s0 + areas.s1)
    names, index = np.unique(areas.facade.astype(str), return_inverse=True)
    for k, name in enumerate(names):
        members = np.flatnonzero((index == k) & known)
        if len(members):
            yield str(name), members


def _touches(areas: Areas, members: NDArray[np.int64], box: Array) -> NDArray[np.bool_]:
    z0, z1, s0, s1 = box
    return ((areas.z0[members] < z1 - SLACK) & (areas.z1[members] > z0 + SLACK)
            & (areas.s0[members] < s1 - SLACK) & (areas.s1[members] > s0 + SLACK))


def _refuse_outside(name: str, areas: Areas, members: NDArray[np.int64], boxes: Array, path: str) -> None:
    if not len(boxes):
        raise InputError(f"no row for facade {name}", path, f"give rows for facade {name}")
    z0, z1, s0, s1 = boxes[:, 0].min(), boxes[:, 1].max(), boxes[:, 2].min(), boxes[:, 3].max()
    out = ((areas.z0[members] < z0 - SLACK) | (areas.z1[members] > z1 + SLACK)
           | (areas.s0[members] < s0 - SLACK) | (areas.s1[members] > s1 + SLACK))
    if out.any():
        i = members[np.argmax(out)]
        raise InputError(
            "the table does not reach over a panel",
            f"{path}: facade {name}, height {areas.z0[i] / M:.2f} to {areas.z1[i] / M:.2f} m, "
            f"{areas.s0[i] / M:.2f} to {areas.s1[i] / M:.2f} m from its left end", "extend the ranges")
