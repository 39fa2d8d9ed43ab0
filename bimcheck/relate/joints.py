"""Joints and overlaps in the facade plane, from the outlines' own edges.

An edge faces right where its outward normal has a part along +u.  The joint to the right of a panel is the least
horizontal distance from its right-facing edges to the left-facing edges of a neighbour, over the length they share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.core.tables import Ragged, Table
from bimcheck.relate.facts import Floats, Ints, table_of
from bimcheck.relate.frames import dot, following, ring_starts
from bimcheck.relate.planes import chains

SIDES = ("left", "right", "bottom", "top")
SHARE_LEAST = 0.1  # mm; bodies that share less than this only touch
TOUCH = 0.02  # mm; less than this is a touch, not an overlap
SAME_DEG = 0.3  # planes of one group differ by no more than this per step of the chain
LEVEL = 0.999


@dataclass(frozen=True)
class Flat:
    """Outlines laid into the common axes of their plane group: values (k, 3) x, y, ring; box (n, 4); w (n,) height of
    the face over the group's zero."""

    outline: Ragged
    box: Floats
    w: Floats
    group: Ints
    thickness: Floats


@dataclass(frozen=True)
class Reach:
    """Distances of the neighbour search, mm."""

    reach: float
    overlap: float
    step: float


def lay_out(panels: Table, step: float) -> Flat:
    """Lay outlines into the axes of the first row of their plane group."""
    origin, u, v, n, outline = (panels[k] for k in ("origin", "u", "v", "n", "outline"))
    group, lead = groups(n, origin, step)
    rows = outline.rows
    points = origin[rows] + outline.values[:, :1] * u[rows] + outline.values[:, 1:2] * v[rows]
    base, first = origin[lead], lead[rows]
    local = points - base[rows]
    x, y = dot(local, u[first]), dot(local, v[first])
    starts = outline.offsets[:-1]
    if not len(starts):
        return Flat(outline, np.zeros((0, 4)), np.zeros(0), group, np.zeros(0))
    box = np.column_stack([np.minimum.reduceat(x, starts), np.minimum.reduceat(y, starts),
                           np.maximum.reduceat(x, starts), np.maximum.reduceat(y, starts)])
    flat = Ragged(np.column_stack([x, y, outline.values[:, 2]]), outline.offsets)
    return Flat(flat, box, dot(origin - base, n[lead]), group, panels["thickness"])


def pairs(flat: Flat, reach: Reach) -> tuple[Ints, Ints]:
    """Rows of one group whose boxes come within reach, each pair once."""
    if not len(flat.box):
        return np.zeros(0, int), np.zeros(0, int)
    # Groups are set apart along x, so that one tree serves all of them.
    base = np.full(flat.group.max() + 1, np.inf)
    np.minimum.at(base, flat.group, flat.box[:, 0])
    width = np.zeros(len(base))
    np.maximum.at(width, flat.group, flat.box[:, 2] - base[flat.group])
    place = (np.r_[0.0, np.cumsum(width + 10 * reach.reach)[:-1]] - base)[flat.group]
    x0, y0, x1, y1 = flat.box.T
    boxes = shapely.box(x0 + place, y0, x1 + place, y1)
    grown = shapely.box(x0 + place - reach.reach, y0 - reach.reach, x1 + place + reach.reach, y1 + reach.reach)
    i, j = shapely.STRtree(boxes).query(grown)
    keep = (i < j) & (np.abs(flat.w[i] - flat.w[j]) <= reach.step)
    order = np.lexsort((j[keep], i[keep]))
    return i[keep][order], j[keep][order]


def find_joints(flat: Flat, reach: Reach) -> Table:
    """Table of joints, two rows a pair (one from each panel): panel, other, side, gap, overlap_length, step; corner is
    False: both lie in one plane."""
    i, j = pairs(flat, reach)
    over = _overlaps(flat, i, j)
    free = ~np.isin(np.arange(len(i)), over["pair"])
    found = [_both_ways((i[over["pair"]], j[over["pair"]]), over["axis"], over["sign"], over["depth"], over["shared"])]
    for axis in (0, 1):
        for a, b in ((i[free], j[free]), (j[free], i[free])):
            pair, gap, shared = _facing(flat, a, b, axis, reach)
            found.append(_both_ways((a[pair], b[pair]), np.full(len(pair), axis), np.ones(len(pair)), gap, shared))
    panel, other, side, gap, shared = (np.concatenate(c) for c in zip(*found, strict=True))
    order = np.lexsort((other, side, panel))
    panel, other, side = panel[order], other[order], side[order]
    return table_of("joints", panel=panel, other=other, side=np.array(SIDES, dtype=object)[side], gap=gap[order],
                    overlap_length=shared[order], step=flat.w[other] - flat.w[panel],
                    corner=np.zeros(len(panel), dtype=bool))


def _both_ways(rows: tuple[Ints, Ints], axis: Ints, sign: Floats, gap: Floats, shared: Floats) -> tuple[Ints, Ints, Ints, Floats, Floats]:
    """Row of a (right or top of it lies b, where sign is +1) and the mirrored row of b."""
    a, b = rows
    ahead, back = 2 * axis + 1, 2 * axis
    side = np.where(sign > 0, ahead, back)
    return (np.concatenate([a, b]), np.concatenate([b, a]), np.concatenate([side, np.where(sign > 0, back, ahead)]),
            np.concatenate([gap, gap]), np.concatenate([shared, shared]))


def _facing(flat: Flat, a: Ints, b: Ints, axis: int, reach: Reach) -> tuple[Ints, Floats, Floats]:
    """Least distance along the axis from edges of a that face ahead to edges of b that face back.

    Returns the pairs (positions) that are neighbours, their distance and the length they share.
    """
    near = _beside(flat.box, a, b, axis, reach)
    a, b = a[near], b[near]
    ahead, back = _edges(flat.outline, axis, True), _edges(flat.outline, axis, False)
    e, f, pair = _product(ahead, back, a, b)
    low = np.maximum(ahead.values[e, 0], back.values[f, 0])
    high = np.minimum(ahead.values[e, 1], back.values[f, 1])
    distance = np.minimum(_at(back.values[f], low) - _at(ahead.values[e], low),
                          _at(back.values[f], high) - _at(ahead.values[e], high))
    good = (high > low) & (distance > -TOUCH) & (distance <= reach.reach)
    pair, distance, shared = pair[good], distance[good], (high - low)[good]
    least = np.full(len(a), np.inf)
    np.minimum.at(least, pair, distance)
    total = np.bincount(pair, shared, minlength=len(a))
    is_joint = np.flatnonzero((total >= reach.overlap) & np.isfinite(least))
    return np.flatnonzero(near)[is_joint], np.maximum(least[is_joint], 0.0), total[is_joint]


def _beside(box: Floats, a: Ints, b: Ints, axis: int, reach: Reach) -> np.ndarray:
    across = 1 - axis
    shared = np.minimum(box[a, across + 2], box[b, across + 2]) - np.maximum(box[a, across], box[b, across])
    # The neighbour begins not before the panel does and not farther off than the reach.
    return (shared >= reach.overlap) & (box[b, axis] - box[a, axis + 2] <= reach.reach) & (box[b, axis + 2] > box[a, axis])


def _edges(outline: Ragged, axis: int, ahead: bool) -> Ragged:
    """Edges of the outer rings that face ahead (or back) along the axis: low, high across it, position at low and high."""
    values = outline.values
    after = following(values, ring_starts(values, outline.offsets))
    p, q = values, values[after]
    across = 1 - axis
    # Counter-clockwise: the outward normal of an edge d is (d_y, -d_x).
    facing = (q[:, across] - p[:, across]) * (1.0 if axis == 0 else -1.0) * (1.0 if ahead else -1.0)
    keep = (facing > 1e-6) & (values[:, 2] == 0)
    turned = p[:, across] > q[:, across]
    lo, hi = np.where(turned[:, None], q, p), np.where(turned[:, None], p, q)
    rows = outline.rows[keep]
    counts = np.bincount(rows, minlength=len(outline))
    packed = np.column_stack([lo[:, across], hi[:, across], lo[:, axis], hi[:, axis]])[keep]
    return Ragged(packed, np.r_[0, np.cumsum(counts)].astype(np.int64))


def _product(first: Ragged, second: Ragged, a: Ints, b: Ints) -> tuple[Ints, Ints, Ints]:
    """Every edge of first[a] with every edge of second[b]: edge, edge, pair."""
    na, nb = first.lengths[a], second.lengths[b]
    pair = np.repeat(np.arange(len(a)), na * nb)
    within = np.arange(len(pair)) - np.repeat(np.cumsum(na * nb) - na * nb, na * nb)
    return first.offsets[a][pair] + within // nb[pair], second.offsets[b][pair] + within % nb[pair], pair


def _at(edge: Floats, across: Floats) -> Floats:
    """Position of the edge at a place across the axis."""
    share = (across - edge[:, 0]) / (edge[:, 1] - edge[:, 0])
    return edge[:, 2] + share * (edge[:, 3] - edge[:, 2])


def _overlaps(flat: Flat, i: Ints, j: Ints) -> dict[str, np.ndarray]:
    """Pairs whose outlines share area: axis of the lesser depth, sign (+1: j lies ahead), depth (negative), shared length."""
    box = flat.box
    size = np.minimum(box[i, 2:], box[j, 2:]) - np.maximum(box[i, :2], box[j, :2])
    # Bodies one before the other are stepped, not overlapping.
    deep = np.minimum(flat.w[i], flat.w[j]) - np.maximum(flat.w[i] - flat.thickness[i], flat.w[j] - flat.thickness[j])
    pair = np.flatnonzero((size > TOUCH).all(axis=1) & (deep > TOUCH))
    size = size[pair]
    plain = _upright(flat.outline)
    exact = np.flatnonzero(~(plain[i[pair]] & plain[j[pair]]))
    if len(exact):
        shared = shapely.intersection(_polygons(flat, i[pair[exact]]), _polygons(flat, j[pair[exact]]))
        bounds = shapely.bounds(shared)
        size[exact] = np.where(shapely.area(shared)[:, None] > TOUCH, bounds[:, 2:] - bounds[:, :2], 0.0)
    real = (size > TOUCH).all(axis=1)
    pair, size = pair[real], size[real]
    axis = np.where(size[:, 0] <= size[:, 1], 0, 1)
    k = np.arange(len(pair))
    middle = (box[:, :2] + box[:, 2:]) / 2
    sign = np.where(middle[j[pair], axis] >= middle[i[pair], axis], 1.0, -1.0)
    return {"pair": pair, "axis": axis, "sign": sign, "depth": -size[k, axis], "shared": size[k, 1 - axis]}


def rectangular(outline: Ragged) -> np.ndarray:
    """Rows whose outline is an upright rectangle without cut-outs."""
    return _upright(outline) & (np.bincount(outline.rows, outline.values[:, 2] > 0, minlength=len(outline)) == 0)


def _upright(outline: Ragged) -> np.ndarray:
    """Rows whose outer ring is a rectangle along the axes."""
    values, rows, starts = outline.values, outline.rows, outline.offsets[:-1]
    outer = values[:, 2] == 0
    off = np.zeros(len(values))
    for k in (0, 1):
        low = np.minimum.reduceat(values[:, k], starts)[rows]
        high = np.maximum.reduceat(values[:, k], starts)[rows]
        off = np.maximum(off, np.minimum(values[:, k] - low, high - values[:, k]))
    corners = np.bincount(rows, outer, minlength=len(outline))
    return (corners == 4) & (np.bincount(rows, outer & (off > TOUCH), minlength=len(outline)) == 0)


def _polygons(flat: Flat, rows: Ints) -> np.ndarray:
    rings = [flat.outline[r] for r in rows]
    return shapely.make_valid(np.array([shapely.Polygon(r[r[:, 2] == 0, :2]) for r in rings], dtype=object))


def least(joints: Table, count: int) -> dict[str, Floats]:
    """Least gap of every row on each of its sides to neighbours in its plane; nan where there is none."""
    found = {}
    for side in SIDES:
        rows = (joints["side"] == side) & ~joints["corner"]
        out = np.full(count, np.inf)
        np.minimum.at(out, joints["panel"][rows], joints["gap"][rows])
        found[f"joint_{side}"] = np.where(np.isinf(out), np.nan, out)
    return found


def groups(n: Floats, origin: Floats, step: float) -> tuple[Ints, Ints]:
    """Plane group of every row and its leading row: same normal within 1 degree, planes chained by less than `step`."""
    if not len(n):
        return np.zeros(0, int), np.zeros(0, int)
    level = np.abs(n[:, 2]) > LEVEL
    azimuth = np.where(level, 0.0, np.degrees(np.arctan2(n[:, 1], n[:, 0])) % 360.0)
    ordered = np.sort(azimuth)
    widest = np.argmax(np.diff(np.r_[ordered, ordered[0] + 360.0]))
    turned = (azimuth - ordered[(widest + 1) % len(ordered)] + 1e-6) % 360.0
    label = chains(turned, np.zeros(len(n), dtype=np.int64), SAME_DEG)
    label = chains(np.degrees(np.arcsin(np.clip(n[:, 2], -1, 1))), label, SAME_DEG)
    first = _first(label)
    label = chains(dot(origin, n[first][label]), label, step)
    return label, _first(label)[label]


def _first(label: Ints) -> Ints:
    return np.unique(label, return_index=True)[1]
