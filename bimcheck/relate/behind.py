"""What stands behind each panel: bodies cut by the prism over its outline, from the rear face to a depth."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely

from bimcheck.core.tables import Ragged, Table, concat, segment
from bimcheck.relate.clip import Polygons, clip, clip_box, triangles
from bimcheck.relate.facts import Floats, Ints, table_of
from bimcheck.relate.frames import dot
from bimcheck.relate.joints import SHARE_LEAST, rectangular

UNSEEN = ("ignored", "opening")  # roles that never stand in the way
SUPPORTS = {"rail": 1.0, "bracket": 2.0}
AT_ONCE = 40_000  # triangles looked at together: they stay near the processor and hardly count in memory
BLOCKING = ("member", "frame", "slab", "wall", "service")


def find_behind(panels: Table, obstacles: Table, depth: float) -> Table:
    """Bodies within `depth` mm behind the rear face and over the outline.

    Returns the table: panel, obstacle (rows), x0, y0, x1, y1 (extent in the panel frame of the part inside), near, far
    (mm behind the rear face, of the part inside; a body that reaches into the panel is near 0), depth (extent of the
    whole body along the normal), edge_on (a frame that stands square to the panel: a window round the corner).
    """
    panel, obstacle = _candidates(panels, obstacles, depth)
    pieces = _pieces(panels, np.unique(panel))
    many = obstacles["triangles"].lengths[obstacle] if len(obstacle) else np.zeros(0, int)
    cuts = np.searchsorted(np.cumsum(many), np.arange(AT_ONCE, int(many.sum()), AT_ONCE)) + 1
    bounds = np.unique(np.r_[0, cuts, len(panel)])
    found = [_part(panels, obstacles, panel[a:b], obstacle[a:b], pieces, depth) for a, b in pairwise(bounds.tolist())]
    return concat("behind", found or [_part(panels, obstacles, panel, obstacle, pieces, depth)])


def _part(panels: Table, obstacles: Table, panel: Ints, obstacle: Ints, pieces: dict[str, np.ndarray], depth: float) -> Table:
    """`find_behind` for some of the pairs."""
    corner, pair = _triangles(panels, obstacles, panel, obstacle)
    low, high = (f(f(corner[:, 0], corner[:, 1]), corner[:, 2]) for f in (np.minimum, np.maximum))
    row = panel[pair]
    limit = np.column_stack([panels["width"][row], panels["height"][row], np.full(len(row), depth)])
    meets = _every((high >= 0) & (low <= limit))
    whole = meets & _every((low >= 0) & (high <= limit)) & pieces["plain"][row]
    cut = meets & ~whole
    plain, other = (np.flatnonzero(cut & k) for k in (pieces["plain"][row], ~pieces["plain"][row]))
    part, left = clip_box(triangles(corner[plain].reshape(-1, 9)), limit[plain])
    odd, owner = _cut(*_slab(triangles(corner[other].reshape(-1, 9)), pair[other], depth), panel, pieces)
    ends = [np.concatenate(x) for x in zip((low[whole], high[whole]), _ends(part), _ends(odd), strict=True)]
    inside = _extents(ends[0], ends[1], np.concatenate([pair[whole], pair[plain[left]], owner]), len(panel))
    role = obstacles["role"][obstacle] if obstacles.n else np.zeros(0, dtype=object)
    return _found(panel, obstacle, inside, _extents(low, high, pair, len(panel)), role)


def _zones(panels: Table, depth: float) -> Floats:
    """(n, 6) world boxes of the zones."""
    base = panels["origin"] - panels["thickness"][:, None] * panels["n"]
    sides = (panels["u"] * panels["width"][:, None], panels["v"] * panels["height"][:, None], -depth * panels["n"])
    low = base + sum(np.minimum(s, 0.0) for s in sides)
    high = base + sum(np.maximum(s, 0.0) for s in sides)
    return np.column_stack([low, high])


def _candidates(panels: Table, obstacles: Table, depth: float) -> tuple[Ints, Ints]:
    """Pairs whose world boxes meet; searched in the two axes along which the panel extends."""
    seen = np.flatnonzero(~np.isin(obstacles["role"], UNSEEN)) if obstacles.n else np.zeros(0, int)
    if not len(seen) or not panels.n:
        return np.zeros(0, int), np.zeros(0, int)
    zone, box = _zones(panels, depth), obstacles["box"][seen]
    flat = np.argmax(np.abs(panels["n"]), axis=1)
    found = []
    for axis in range(3):
        rows = np.flatnonzero(flat == axis)
        if len(rows):
            a, b = (k for k in range(3) if k != axis)
            tree = shapely.STRtree(shapely.box(box[:, a], box[:, b], box[:, a + 3], box[:, b + 3]))
            z = zone[rows]
            i, j = tree.query(shapely.box(z[:, a], z[:, b], z[:, a + 3], z[:, b + 3]))
            meets = (z[i, axis] <= box[j, axis + 3]) & (z[i, axis + 3] >= box[j, axis])
            found.append((rows[i[meets]], seen[j[meets]]))
    panel, obstacle = (np.concatenate(c) for c in zip(*found, strict=True))
    order = np.lexsort((obstacle, panel))
    return panel[order], obstacle[order]


def _triangles(panels: Table, obstacles: Table, panel: Ints, obstacle: Ints) -> tuple[Floats, Ints]:
    """Triangles (m, 3, 3) of the pairs in the panel's frame (x, y, mm behind the rear face), and the pair of each."""
    if not len(panel):
        return np.zeros((0, 3, 3)), np.zeros(0, int)
    bodies: Ragged = obstacles["triangles"].take(obstacle)
    pair, axes, start = bodies.rows, *_frames(panels, panel)
    return (bodies.values.reshape(-1, 3, 3) - start[pair, None]) @ axes[pair], pair


def _frames(panels: Table, panel: Ints) -> tuple[Floats, Floats]:
    """(k, 3, 3) columns u, v, -n and (k, 3) origins on the rear face."""
    n = panels["n"][panel]
    axes = np.stack([panels["u"][panel], panels["v"][panel], -n], axis=2)
    return axes, panels["origin"][panel] - panels["thickness"][panel, None] * n


def _slab(part: Polygons, pair: Ints, depth: float) -> tuple[Polygons, Ints]:
    """Cut to 0..depth behind the rear face."""
    for direction, limit in ((-1.0, 0.0), (1.0, depth)):
        normal = np.tile([0.0, 0.0, direction], (len(part.count), 1))
        part = clip(part, normal, np.full(len(normal), limit))
        left = part.count > 0
        part, pair = part.take(left), pair[left]
    return part, pair


def _pieces(panels: Table, rows: Ints) -> dict[str, np.ndarray]:
    """Convex pieces, by rising row, of the outlines that are no rectangles: (k, 4, 3) edges as outward normal and offset
    (triangles repeat one); plain: (n,) which panels are rectangles."""
    plain = rectangular(panels["outline"])
    others = rows[~plain[rows]].tolist()
    cut = [_convex(panels["outline"][r]) for r in others]
    owner = np.repeat(np.array(others, dtype=np.int64), [len(c) for c in cut])
    return {"row": owner, "edges": np.concatenate([np.zeros((0, 4, 3)), *cut]), "plain": plain}


def _convex(outline: Floats) -> Floats:
    """(k, 4, 3) edges of the triangles that make up an outline with cut-outs."""
    rings = [outline[outline[:, 2] == k, :2] for k in np.unique(outline[:, 2])]
    area = shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(area))
    points = shapely.get_coordinates(shapely.orient_polygons(parts)).reshape(-1, 4, 2)
    edge = np.diff(points, axis=1)
    length = np.linalg.norm(edge, axis=2)
    normal = np.stack([edge[:, :, 1], -edge[:, :, 0]], axis=2) / np.where(length > 0, length, 1.0)[:, :, None]
    found = np.concatenate([normal, dot(normal, points[:, :3])[:, :, None]], axis=2)
    return np.concatenate([found, found[:, :1]], axis=1)


def _cut(part: Polygons, pair: Ints, panel: Ints, pieces: dict[str, np.ndarray]) -> tuple[Polygons, Ints]:
    owner, edges = pieces["row"], pieces["edges"]
    first = np.searchsorted(owner, panel[pair])
    many = np.searchsorted(owner, panel[pair], side="right") - first
    source = np.repeat(np.arange(len(pair)), many)
    piece = first[source] + np.arange(len(source)) - np.repeat(np.cumsum(many) - many, many)
    part, pair = part.take(source), pair[source]
    for k in range(4):
        normal = np.column_stack([edges[piece, k, :2], np.zeros(len(piece))])
        part = clip(part, normal, edges[piece, k, 2])
        left = part.count > 0
        part, pair, piece = part.take(left), pair[left], piece[left]
    return part, pair


def _every(flags: np.ndarray) -> np.ndarray:
    """(m,) of (m, 3): far quicker by the column than along the row."""
    return flags[:, 0] & flags[:, 1] & flags[:, 2]


def _ends(part: Polygons) -> tuple[Floats, Floats]:
    """(m, 3) least and greatest coordinates of each polygon; vertices that are not used count as the first one."""
    low, high = part.points[:, 0].copy(), part.points[:, 0].copy()
    for k in range(1, part.points.shape[1]):
        at = np.where((part.count > k)[:, None], part.points[:, k], part.points[:, 0])
        np.minimum(low, at, out=low)
        np.maximum(high, at, out=high)
    return low, high


def _extents(low: Floats, high: Floats, pair: Ints, count: int) -> tuple[Floats, Floats]:
    """(count, 3) least and greatest coordinates by pair, nan where there are none."""
    return (np.column_stack([segment(np.minimum, low[:, k], pair, count, np.nan) for k in range(3)]),
            np.column_stack([segment(np.maximum, high[:, k], pair, count, np.nan) for k in range(3)]))


def _found(panel: Ints, obstacle: Ints, inside: tuple[Floats, Floats], body: tuple[Floats, Floats], role: np.ndarray) -> Table:
    """The table, without bodies that only touch the prism from beside."""
    least, most = inside
    size = most - least
    real = np.flatnonzero((size[:, 0] > SHARE_LEAST) & (size[:, 1] > SHARE_LEAST))
    whole = (body[1] - body[0])[real]
    return table_of("behind", panel=panel[real], obstacle=obstacle[real], x0=least[real, 0], y0=least[real, 1],
                    x1=most[real, 0], y1=most[real, 1], near=least[real, 2], far=most[real, 2],
                    depth=whole[:, 2], edge_on=(role[real] == "frame") & (whole[:, 2] > whole[:, 0]))


def supports(behind: Table, obstacles: Table, count: int, reach: float) -> Ragged:
    """rails_y: axis of horizontal rails and brackets within reach: y, obstacle row, 1 rail or 2 bracket.

    A bracket carries one anchor, not a row: where two rails are in reach they are what rows follow.
    """
    role = obstacles["role"][behind["obstacle"]] if behind.n else np.zeros(0, dtype=object)
    kind = np.array([SUPPORTS.get(r, 0.0) for r in role])
    level = behind["x1"] - behind["x0"] > behind["y1"] - behind["y0"]
    rail = (kind == SUPPORTS["rail"]) & level & (behind["near"] <= reach)
    enough = np.bincount(behind["panel"][rail], minlength=count) >= 2
    bracket = (kind == SUPPORTS["bracket"]) & (behind["near"] <= reach) & ~enough[behind["panel"]]
    rows = np.flatnonzero(rail | bracket)
    values = np.column_stack([(behind["y0"] + behind["y1"])[rows] / 2, behind["obstacle"][rows], kind[rows]])
    return _per_panel(values, behind["panel"][rows], count)


def keep_outs(behind: Table, obstacles: Table, count: int, depth: float) -> Ragged:
    """keep_out: boxes x0, y0, x1, y1 of bodies that are no support and stand nearer than `depth`."""
    role = obstacles["role"][behind["obstacle"]] if behind.n else np.zeros(0, dtype=object)
    rows = np.flatnonzero(np.isin(role, BLOCKING) & (behind["near"] < depth))
    values = np.column_stack([behind[k][rows] for k in ("x0", "y0", "x1", "y1")])
    return _per_panel(values, behind["panel"][rows], count)


def _per_panel(values: Floats, panel: Ints, count: int) -> Ragged:
    """Rows are already in order of panels."""
    return Ragged(values, np.r_[0, np.cumsum(np.bincount(panel, minlength=count))].astype(np.int64))
