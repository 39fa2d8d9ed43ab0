"""A small project for the tests of layout: panels of stone, plain checks, and the plate engine as solver.

The checks are plain on purpose: bending m t^-2, anchor pull, edge distance, so that a test can repeat them.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck.core.tables import Ragged, Table, Tables
from bimcheck.layout.jobs import Job
from bimcheck.plate.envelope import layouts

CHECKS = {"candidates": ["u_bending"], "anchors": ["u_tension", "u_edge", "u_spacing"]}
CACHE = Path(tempfile.gettempdir()) / "bimcheck-test-plates"


def solve(jobs: Sequence[Job]) -> Table:
    """The plate engine."""
    return layouts(jobs, processes=1, where=CACHE)


def rigid(jobs: Sequence[Job]) -> Table:
    """A stand-in for the engine: equal shares, moments by span strips; quick, and honest enough to order layouts."""
    area = np.array([_area(j.rings) for j in jobs])
    n = np.array([len(j.anchors) for j in jobs])
    reach = np.array([_reach(j) for j in jobs])
    m = reach**2 / 2 + area / n / (4 * np.pi)
    share = Ragged.of([np.full(k, a / k) for k, a in zip(n, area, strict=True)])
    zeros = np.zeros(len(jobs))
    return Table("layouts", len(jobs), {
        "m_support": m, "m_field": m / 2, "m_corner": 0 * m, "share_most": area / n, "m_plate": m, "w_unit": m**2, "w_span": m**2, "span": reach, "overhang": reach,
        "m_support_lost": 2 * m, "m_support_moved": 0 * m, "m_field_moved": 0 * m, "layout_flags": np.full(len(jobs), "", dtype=object),
        "share": share, "share_min": share, "share_lost": share, "share_moved": share, "spare": zeros,
    })


def _area(rings: Sequence[np.ndarray]) -> float:
    x, y = rings[0].T
    return float(abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2


def _reach(job: Job) -> float:
    """Greatest distance of a corner, or of half a spacing, to the anchors."""
    corner = np.linalg.norm(job.rings[0][:, None] - job.anchors, axis=2).min(axis=1).max()
    gap = np.linalg.norm(job.anchors[:, None] - job.anchors, axis=2)
    return float(max(corner, np.where(gap > 0, gap, np.inf).min(axis=1).max() / 2))


def evaluate(tables: Tables) -> Tables:
    """u = w m 6 / t^2 / f_d; u = (w share + weight) / R_d; least edge and spacing over what is there."""
    panels, c, a, lay = (tables[k] for k in ("panels", "candidates", "anchors", "layouts"))
    of = c["panel"]
    w = np.maximum(-panels["w_suction"], panels["w_pressure"])
    moment = w[of] * lay["m_plate"][c["layout"]]
    own = of[a["candidate"]]
    pull = w[own] * np.maximum(a["share"], a["share_min"]) + np.where(a["hangs"], panels["W"][own] * 0.1, 0.0)
    return {**tables,
            "candidates": c.with_columns(u_bending=moment * 6 / panels["t_min"][of] ** 2 / panels["f_d"][of]),
            "anchors": a.with_columns(u_tension=pull * panels["gamma_anchor"][own] / panels["R_k"][own],
                                      u_edge=panels["edge_min_item"][own] / a["edge"],
                                      u_spacing=panels["spacing_min_item"][own] / a["spacing"])}


def rectangle(a: float, b: float) -> np.ndarray:
    return np.array([[0, 0, 0], [a, 0, 0], [a, b, 0], [0, b, 0]], dtype=float)


def panels(outlines: Sequence[np.ndarray], **columns: Any) -> Table:
    """A panels table of outlines (k, 3); columns override the defaults (30 mm granite, 1.2 kPa suction)."""
    n = len(outlines)
    size = np.array([o[:, :2].max(axis=0) for o in outlines]).reshape(-1, 2)
    area = np.array([_net(o) for o in outlines])
    t = np.broadcast_to(np.asarray(columns.get("t_min", 28.5), dtype=float), n)
    base: dict[str, Any] = {
        "width": size[:, 0], "height": size[:, 1], "net_area": area, "nu": 0.2, "t_min": t, "t_max": t + 3.0,
        "D": 50e3 * t**3 / (12 * (1 - 0.04)), "undercut_radius": 5.0, "edge_min_item": 50.0, "spacing_min_item": 100.0,
        "w_suction": -1.2e-3, "w_pressure": 0.8e-3, "f_d": 6.0, "R_k": 2000.0, "gamma_anchor": 2.0,
        "W": area * t * 2750e-9 * 9.81, "facade_index": 0, "storey": "00", "item": "demo-uc-11",
    }
    filled = {k: _column(v, n) for k, v in {**base, **columns}.items()}
    return Table("panels", n, {**filled, "outline": Ragged.of(list(outlines), (3,))})


def _column(value: Any, n: int) -> Any:
    if isinstance(value, Ragged):
        return value
    column = np.asarray(value, dtype=object if isinstance(value, str) else None)
    return np.broadcast_to(column, (n, *column.shape[1:])).copy() if column.ndim == 0 or len(column) != n else column


def _net(outline: np.ndarray) -> float:
    rings = [outline[outline[:, 2] == k, :2] for k in np.unique(outline[:, 2])]
    areas = [_area([r]) for r in rings]
    return areas[0] - sum(areas[1:])


def facades() -> Table:
    return Table("facades", 1, {"facade_name": np.array(["south"], dtype=object)})
