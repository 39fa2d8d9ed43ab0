"""The author's own fasteners: bodies at the rear face of a panel, read as anchors that are drilled or meant as they are.

What cannot be told beyond doubt is said and never guessed: such a panel gets no layout.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.core.plugins import later
from bimcheck.core.tables import Ragged, Table
from bimcheck.core.units import Array
from bimcheck.layout.batch import Index
from bimcheck.layout.final import outline_of
from bimcheck.layout.keep import Kept
from bimcheck.layout.search import groups

CLASSES = ("IfcMechanicalFastener", "IfcFastener", "IfcDiscreteAccessory")
AT_FACE = 2.0  # mm: a body that ends this near the rear face stands at it
INSIDE = 1.0  # mm: a body that reaches this far into the panel is set in it
WIDEST = {"fastener": 60.0, "accessory": 150.0}  # mm in the plane: wider bodies do not tell one axis
_tree = later("scipy.spatial:KDTree")  # only where the author's fasteners are kept
ONE_ANCHOR = 15.0  # mm: parts whose axes lie nearer than this make up one anchor (bolt, nut, washer, clip)
SAME_AXIS = 1.0  # mm: axes of two such parts that are told apart
_PAIRS = 4000  # pairs of body and panel measured at once
_REACH = 100.0  # mm by which a panel's circle is widened to look for bodies


@dataclass(frozen=True)
class _Seen:
    """Bodies at rear faces: panel and obstacle row, middle (m, 2) in the panel frame, depth into the panel from the rear
    face, greatest extent in the plane, share of the depth beyond the front face; fastener: else an accessory."""

    panel: Index
    obstacle: Index
    at: Array
    depth: Array
    extent: Array
    proud: NDArray[np.bool_]
    fastener: NDArray[np.bool_]

    def take(self, rows: NDArray) -> _Seen:
        return _Seen(*(getattr(self, k)[rows] for k in _Seen.__dataclass_fields__))

    @property
    def rank(self) -> Array:
        """(m,) smaller tells an anchor's axis better: fasteners set in the panel, deeper ones first, then accessories."""
        return np.where(self.fastener, 0.0, 1e4) - np.where(self.depth >= INSIDE, 1e3, 0.0) - np.clip(self.depth, 0, 500)


def authors_anchors(panels: Table, obstacles: Table) -> Kept:
    """Positions of the author's fasteners.

    panels: origin, u, v, n, width, height, thickness, outline.  obstacles: ifc_class, box, triangles, world.  Accessories
    count on panels without a fastener only.
    """
    seen = _seen(panels, obstacles)
    has = np.zeros(panels.n, dtype=bool)
    has[seen.panel[seen.fastener]] = True
    unclear = np.full(panels.n, "", dtype=object)
    for mask, text in _doubts(seen):
        for row in np.unique(seen.panel[mask]).tolist():
            unclear[row] = unclear[row] or f"kept-anchors: {text}"
    lead, apart = _merged(seen)
    for row in np.unique(seen.panel[apart]).tolist():
        unclear[row] = unclear[row] or f"kept-anchors: fasteners nearer than {ONE_ANCHOR:g} mm that do not share an axis"
    drawn = seen.take(lead & (seen.fastener | ~has[seen.panel]))
    drawn = drawn.take(unclear[drawn.panel] == "")
    order = np.lexsort((drawn.obstacle, drawn.panel))
    used = np.unique(seen.obstacle[unclear[seen.panel] == ""])
    return Kept(drawn.panel[order], drawn.at[order], unclear, used)


def _doubts(seen: _Seen) -> Iterator[tuple[NDArray[np.bool_], str]]:
    _, of, count = np.unique(seen.obstacle, return_inverse=True, return_counts=True)
    yield count[of.ravel()] > 1, "a fastener that stands at two panels"
    wide = np.where(seen.fastener, WIDEST["fastener"], WIDEST["accessory"])
    yield seen.extent > wide, "a body too wide to tell an anchor's axis"
    yield seen.proud, "a fastener that comes through the front face"


def _merged(seen: _Seen) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(m,) whether a body leads its anchor, and whether it stands beside an equal one without sharing its axis."""
    lead, apart = np.ones(len(seen.panel), dtype=bool), np.zeros(len(seen.panel), dtype=bool)
    if len(lead) < 2:
        return lead, apart
    tree = _tree(np.column_stack([seen.at, seen.panel * 1e3]))
    first, second = tree.query_pairs(ONE_ANCHOR, output_type="ndarray").reshape(-1, 2).T
    better = (seen.rank[first] < seen.rank[second]) | ((seen.rank[first] == seen.rank[second]) & (first < second))
    lead[np.where(better, second, first)] = False
    off = np.linalg.norm(seen.at[first] - seen.at[second], axis=1)
    both = (seen.fastener[first] == seen.fastener[second]) & (off > SAME_AXIS) & ((seen.depth[first] >= INSIDE) == (seen.depth[second] >= INSIDE))
    apart[first[both]] = apart[second[both]] = True
    return lead, apart


def _seen(panels: Table, obstacles: Table) -> _Seen:
    wanted = np.flatnonzero(np.isin(obstacles["ifc_class"].astype(str), CLASSES)) if obstacles.n else np.empty(0, dtype=np.int64)
    panel, obstacle = _near(panels, obstacles["box"][wanted], wanted) if len(wanted) and panels.n else (np.empty(0, dtype=np.int64),) * 2
    parts = [_measured(panels, obstacles, panel[i : i + _PAIRS], obstacle[i : i + _PAIRS]) for i in range(0, len(panel), _PAIRS)]
    low, high = (np.concatenate([np.empty((0, 3)), *(p[k] for p in parts)]) for k in (0, 1))
    at, t = (low[:, :2] + high[:, :2]) / 2, panels["thickness"][panel]
    fastener = np.asarray(obstacles["ifc_class"][obstacle] != "IfcDiscreteAccessory", dtype=bool) if len(obstacle) else np.empty(0, dtype=bool)
    seen = _Seen(panel, obstacle, at, high[:, 2], np.ptp(np.stack([low[:, :2], high[:, :2]]), axis=0).max(axis=1, initial=0.0), high[:, 2] > t + AT_FACE, fastener)
    rows = (high[:, 2] >= -AT_FACE) & (low[:, 2] <= t) & _inside(panels, panel, at)
    return seen.take(np.flatnonzero(rows))


def _near(panels: Table, box: Array, wanted: Index) -> tuple[Index, Index]:
    """Pairs of panel and obstacle row whose middles lie within reach and over the panel's rectangle."""
    half = np.hypot(panels["width"], panels["height"]) / 2
    middle = panels["origin"] + panels["u"] * (panels["width"] / 2)[:, None] + panels["v"] * (panels["height"] / 2)[:, None]
    known = np.flatnonzero(np.isfinite(middle).all(axis=1) & np.isfinite(half))
    centre = (box[:, :3] + box[:, 3:]) / 2
    found = _tree(centre).query_ball_point(middle[known], half[known] + _REACH)
    panel = np.repeat(known, [len(f) for f in found])
    body = np.concatenate([np.empty(0, dtype=np.int64), *(np.sort(np.array(f, dtype=np.int64)) for f in found)])
    x, y, d = _in_frame(panels, panel, centre[body])
    over = (x > 0) & (x < panels["width"][panel]) & (y > 0) & (y < panels["height"][panel]) & (np.abs(d) < 3 * _REACH)
    return panel[over], wanted[body[over]]


def _in_frame(panels: Table, panel: Index, points: Array) -> tuple[Array, Array, Array]:
    """x, y in the panel frame and distance from the rear face towards the front."""
    away = points - panels["origin"][panel]
    x, y, d = (np.einsum("ij,ij->i", away, panels[k][panel]) for k in ("u", "v", "n"))
    return x, y, d + panels["thickness"][panel]


def _measured(panels: Table, obstacles: Table, panel: Index, obstacle: Index) -> tuple[Array, Array]:
    """Least and greatest x, y, depth (k, 3) of bodies in the frames of their panels."""
    bodies: Ragged = obstacles["triangles"].take(obstacle)
    points = np.column_stack(_in_frame(panels, np.repeat(panel[bodies.rows], 3), bodies.values.reshape(-1, 3)))
    starts = 3 * bodies.offsets[:-1]
    return np.minimum.reduceat(points, starts), np.maximum.reduceat(points, starts)


def _inside(panels: Table, panel: Index, at: Array) -> NDArray[np.bool_]:
    inside = np.zeros(len(panel), dtype=bool)
    for row, some in groups(panel):
        inside[some] = shapely.contains_xy(outline_of(panels["outline"][row]), at[some])
    return inside
