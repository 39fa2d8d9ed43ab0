"""Batches: layouts of one anchor count as arrays, estimated or solved, and the tables that rules read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, Tables
from bimcheck.core.units import Array
from bimcheck.core.vocabulary import STAGE_COLUMNS
from bimcheck.layout.classes import Class, Classes
from bimcheck.layout.estimate import Estimate, estimate, same_kind
from bimcheck.layout.estimate_moved import force_per_error
from bimcheck.layout.geometry import Geometry, in_slot_order, measured, slot_order
from bimcheck.layout.jobs import Job, Solve
from bimcheck.layout.patterns import name

Index = NDArray[np.int64]
_DECLARED = [(c.name, c.unit) for c in STAGE_COLUMNS if c.table == "layouts" and c.name != "shape_row"]
_SHARES = ("share", "share_min", "share_lost", "share_moved")
_MOST = 1000  # more than a pattern has columns or rows
LOST_MOMENT, LOST_SHARE = 2.5, 2.0  # rough effect of a lost anchor, for ranking: method, x2.1-2.6 and x1.8-2.1


@dataclass(frozen=True)
class Batch:
    """m layouts of n anchors.  cls (m,) class of each; pattern (m, 2); points (m, n, 2) in slot order, panel frame;
    columns: columns of `layouts`, (m,) each; shares: share, share_min, share_lost, share_moved, (m, n) each."""

    classes: Classes
    cls: Index
    pattern: Index
    points: Array
    columns: dict[str, NDArray]
    shares: dict[str, Array]
    geometry: Geometry

    def __len__(self) -> int:
        return len(self.cls)

    @property
    def n(self) -> int:
        return self.points.shape[1]

    def take(self, rows: Index) -> Batch:
        g = Geometry(**{k: getattr(self.geometry, k)[rows] for k in Geometry.__dataclass_fields__})
        return Batch(self.classes, self.cls[rows], self.pattern[rows], self.points[rows],
                     {k: v[rows] for k, v in self.columns.items()}, {k: v[rows] for k, v in self.shares.items()}, g)


def join(first: Batch, second: Batch) -> Batch:
    """Layouts of both, of one class list and anchor count."""
    def both(a: NDArray, b: NDArray) -> NDArray:
        return np.concatenate([a, b])
    g = Geometry(**{k: both(getattr(first.geometry, k), getattr(second.geometry, k)) for k in Geometry.__dataclass_fields__})
    return Batch(first.classes, both(first.cls, second.cls), both(first.pattern, second.pattern),
                 both(first.points, second.points), {k: both(v, second.columns[k]) for k, v in first.columns.items()},
                 {k: both(v, second.shares[k]) for k, v in first.shares.items()}, g)


def _geometry(classes: Classes, cls: Index, points: Array) -> Geometry:
    return measured(classes.rectangle[cls], classes.size[cls], lambda i: classes[int(cls[i])].site, points)


def solved(classes: Classes, cls: Index, pattern: Index, points: Array, solve: Solve) -> Batch:
    """Solve layouts: points (m, n, 2) in any order within a layout."""
    points = in_slot_order(points)
    table = solve([_job(classes[c], p) for c, p in zip(cls, points, strict=True)])
    shares = {k: np.asarray(table[k].values, dtype=float).reshape(points.shape[:2]) for k in _SHARES}
    columns = {k: np.asarray(v) for k, v in table.columns.items() if k not in _SHARES}
    return Batch(classes, cls, pattern, points, columns, shares, _geometry(classes, cls, points))


def _job(cls: Class, anchors: Array) -> Job:
    return Job(cls.site.own_rings, cls.nu, anchors, cls.radius, cls.softness, cls.thickness, cls.softness_moved)


def estimated(classes: Classes, cls: Index, pattern: tuple[int, int], points: Array, factors: Array) -> Batch:
    """Estimate layouts of one pattern, points (m, n, 2) row by row.

    factors (m, 4): corrections learnt from solved neighbours, on moments at anchors, in the field, deflections, shares.
    """
    n, m = points.shape[1], len(points)
    size, area = classes.size[cls], classes.area[cls]
    radius, nu, softness, moved = (classes.fact(k)[cls] for k in ("radius", "nu", "softness", "softness_moved"))
    rough = estimate(pattern, size, area, points, radius, nu, softness)
    order = slot_order(points)
    share, least = (np.take_along_axis(v, order, axis=1) * factors[:, 3:] for v in (rough.shares, rough.least))
    points = np.take_along_axis(points, order[..., None], axis=1)
    shape = _geometry(classes, cls, points)
    columns = _columns(rough, factors, shape, points, size)
    force = force_per_error(points, area, nu, moved)
    columns["share_most"] = share.max(axis=1)
    for place in ("support", "field"):
        columns[f"m_{place}_moved"] = columns[f"m_{place}"] * force / share.max(axis=1)
    return Batch(classes, cls, np.tile(np.array(pattern, dtype=np.int64), (m, 1)), points, columns | same_kind(_DECLARED, columns, m),
                 {"share": share, "share_min": least, "share_lost": LOST_SHARE * share * n / max(n - 1, 1),
                      "share_moved": np.repeat(force[:, None], n, axis=1)}, shape)


def _columns(rough: Estimate, factors: Array, shape: Geometry, points: Array, size: Array) -> dict[str, NDArray]:
    support, field = rough.m_support * factors[:, 0], rough.m_field * factors[:, 1]
    corner = np.minimum(points.min(axis=1), (size[:, None] - points).min(axis=1))
    return {"m_support": support, "m_field": field, "m_corner": np.zeros(len(field)), "m_plate": np.maximum(support, field),
            "w_unit": rough.w_unit * factors[:, 2], "w_span": rough.w_span * factors[:, 2],
            "span": shape.spacing.max(axis=1), "overhang": np.hypot(corner[:, 0], corner[:, 1]),
            "m_support_lost": LOST_MOMENT * np.maximum(support, field)}


def tables(panels: Table, facades: Table, batch: Batch, panel: Index, layout: Index) -> Tables:
    """The tables that rules of phase "wave" read: a candidate for each pair of panel row and layout of the batch."""
    n, m = batch.n, len(panel)
    g = batch.geometry
    candidates = Table("candidates", m, {
        "panel": panel, "layout": layout, "n_anchors": np.full(m, n, dtype=np.int64),
        "pattern": pattern_names(batch)[layout], "n_hang_layout": g.n_hang[layout],
        **{k: v[layout] for k, v in bearing(batch.points, g.hangs).items()},
    })
    layouts = Table("layouts", len(batch), {"shape_row": batch.cls, **batch.columns})
    each = {"x": batch.points[..., 0], "y": batch.points[..., 1], **batch.shares, "tributary": g.tributary, "edge": g.edge,
            "spacing": g.spacing, "role": g.role, "hangs": g.hangs}
    whole = {"y_lever": g.y_lever, "n_hang": g.n_hang}
    anchors = Table("anchors", m * n, {
        "candidate": np.repeat(np.arange(m), n), "slot": np.tile(np.arange(1, n + 1), m),
        **{k: v[layout].reshape(-1) for k, v in each.items()}, **{k: np.repeat(v[layout], n) for k, v in whole.items()},
    })
    return {"panels": panels, "facades": facades, "layouts": layouts, "candidates": candidates, "anchors": anchors}


def bearing(points: Array, hangs: NDArray[np.bool_]) -> dict[str, Array]:
    """(m,) where the two anchors that carry weight stand: the fixed one on the left seen from the rear (greatest x)."""
    x = points[..., 0]
    fixed = np.argmax(np.where(hangs, x, -np.inf), axis=1)
    rows = np.arange(len(points))
    return {"x_fixed": x[rows, fixed], "y_fixed": points[rows, fixed, 1], "x_sliding": np.where(hangs, x, np.inf).min(axis=1)}


def pattern_names(batch: Batch) -> NDArray:
    """(m,) text, columns x rows; the number of anchors where the layout is no grid."""
    kinds, at = np.unique(batch.pattern @ [_MOST, 1], return_inverse=True)
    names = [name(*divmod(k, _MOST)) if min(divmod(k, _MOST)) > 0 else str(batch.n) for k in kinds.tolist()]
    return np.array(names, dtype=object)[at.ravel()]
