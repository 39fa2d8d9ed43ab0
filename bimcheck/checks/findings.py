"""Issues of the plate: where its method is left, or a pass hangs on its accuracy.  A warning a panel and reason."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables, gather

LEAST_FREQUENCY = 5.0  # Hz, EN 1991-1-4 6.2(1)b (from memory)
PASS = 1.0 + 1e-9


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """Warnings for the selected layouts: large deflection, low frequency, corner margin, design radius, coarse grid."""
    if "candidates" not in tables or not tables["candidates"].n:
        return []
    rows = _Rows(tables)
    return [*_deflection(rows), *_frequency(rows), *_corner(rows), *_flags(rows)]


class _Rows:
    """Columns seen from the candidates, nan where this plan lacks one; and what every issue of a row shares."""

    def __init__(self, tables: Tables) -> None:
        self.tables, self.n = tables, tables["candidates"].n

    def __call__(self, name: str) -> NDArray[Any]:
        found = gather(self.tables, "candidates", name)
        return np.full(self.n, np.nan) if found is None else np.asarray(found)

    def place(self, i: int) -> dict[str, Any]:
        panels: Table = self.tables["panels"]
        row = int(self.tables["candidates"]["panel"][i])
        centre = panels["origin"][row] + panels["width"][row] / 2 * panels["u"][row] + panels["height"][row] / 2 * panels["v"][row]
        return {"panel": int(panels["element"][row]), "x": float(centre[0]), "y": float(centre[1]), "z": float(centre[2])}


def _where(flags: NDArray[np.bool_]) -> list[int]:
    return np.flatnonzero(flags).tolist()


def _deflection(rows: _Rows) -> Iterator[Issue]:
    over, w, t = rows("large_deflection"), rows("w_greatest"), rows("t_min")
    for i in _where(over > PASS):
        yield Issue("large-deflection", "warning", f"deflection {w[i]:.1f} mm exceeds half the thickness of {t[i]:.1f} mm: thin plate theory is left",
                    measured=float(w[i]), required=float(t[i] / 2), unit="mm", way_out="more anchors, a thicker panel, or a large-deflection analysis", **rows.place(i))


def _frequency(rows: _Rows) -> Iterator[Issue]:
    f = rows("f_1")
    for i in _where(f < LEAST_FREQUENCY):
        yield Issue("low-frequency", "warning", f"first frequency {f[i]:.1f} Hz on its anchors: c_s c_d = 1 is not shown", measured=float(f[i]),
                    required=LEAST_FREQUENCY, unit="Hz", way_out="more anchors or a thicker panel, or c_s c_d by EN 1991-1-4 6.3", **rows.place(i))


def _corner(rows: _Rows) -> Iterator[Issue]:
    bound, u = rows("u_corner_bound"), rows("u_bending")
    for i in _where((bound > PASS) & (u <= PASS)):
        yield Issue("corner-margin", "warning", f"bending passes at {u[i]:.3f}, but a re-entrant corner may be used to {bound[i]:.2f}, as far as its moment may be off",
                    measured=float(bound[i]), required=1.0, way_out="a rounded corner or a finer analysis of it", **rows.place(i))


def _flags(rows: _Rows) -> Iterator[Issue]:
    if "layouts" not in rows.tables:
        return
    flags, of = rows.tables["layouts"]["layout_flags"].tolist(), rows.tables["candidates"]["layout"]
    beyond, coarse = (np.array([text in f for f in flags], dtype=bool)[of] for text in ("radius beyond the edge", "grid coarse"))
    for i in _where(beyond):
        yield Issue("radius-beyond-edge", "warning", "the design radius of an anchor reaches the edge: its moment is out of range",
                    way_out="a greater edge distance", **rows.place(i))
    for i in _where(coarse):
        yield Issue("grid-coarse", "warning", "an anchor so near to an edge or another that its moment may be off by more than a percent",
                    way_out="a greater edge distance or spacing", **rows.place(i))
