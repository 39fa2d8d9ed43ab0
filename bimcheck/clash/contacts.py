"""Which bodies enter which zones of which anchors: world boxes of panels, extents in their axes, then triangles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.clash.alike import alike
from bimcheck.clash.frames import Frames, group_pairs
from bimcheck.clash.placed import Placed, place
from bimcheck.clash.places import Floats, Ints
from bimcheck.clash.zones import Zone, box_enters, entered, largest, sliced, surrounds, within_strip
from bimcheck.core.tables import Table

CHUNK = 400_000  # triangles at a time, to bound the memory


@dataclass(frozen=True)
class Contacts:
    """anchor, body (k,) rows; zone (k, zones) which zones the body enters; away (k,) mm from the hole's mouth to the
    body's extents in the panel's axes; beside (k,) the same in the panel's plane, from the anchor's axis."""

    anchor: Ints
    body: Ints
    zone: np.ndarray
    away: Floats
    beside: Floats

    def take(self, rows: Any) -> Contacts:
        return Contacts(self.anchor[rows], self.body[rows], self.zone[rows], self.away[rows], self.beside[rows])


def contacts(frames: Frames, bodies: Table, zones: Sequence[Zone], rows: Ints | None = None) -> Contacts:
    """Pairs of anchors and bodies (some rows of them) that share more than a touch with at least one zone."""
    rows = np.arange(bodies.n) if rows is None else rows
    group, body = group_pairs(frames, zones, bodies["box"][rows])
    body, axes = rows[body], frames.axes
    placed, slot = place(bodies, axes, axes.of[group], body)
    anchor, pair = _near(axes.at, frames.starts, placed, (group, slot), zones)
    at, slot = axes.at[:, anchor], slot[pair]
    zone = _entered(placed, slot, at, zones)
    apart = np.maximum(np.maximum(placed.low[:, slot] - at, at - placed.high[:, slot]), 0.0)
    beside = np.hypot(apart[0], apart[1])
    found = Contacts(anchor, body[pair], zone, np.hypot(beside, apart[2]), beside)
    return found.take(zone.any(axis=1))


def _near(at: Floats, starts: Ints, placed: Placed, pairs: tuple[Ints, Ints], zones: Sequence[Zone]) -> tuple[Ints, Ints]:
    """Anchors and positions in `pairs` (panel, body) whose zones meet the body's extents: panels first, then anchors."""
    group, slot = pairs
    hx, hy, depth = largest(zones)
    least, most = np.array([[-hx], [-hy], [0.0]]), np.array([[hx], [hy], [depth]])
    if not len(group):
        return group, slot
    low, high = np.minimum.reduceat(at, starts, axis=1) + least, np.maximum.reduceat(at, starts, axis=1) + most
    pair = np.flatnonzero(_meets(placed, slot, low, high, group))
    many = np.diff(np.r_[starts, at.shape[1]])[group[pair]]
    anchor = np.arange(many.sum()) + np.repeat(starts[group[pair]] - np.cumsum(many) + many, many)
    pair = np.repeat(pair, many)
    near = _meets(placed, slot[pair], at + least, at + most, anchor)
    return anchor[near], pair[near]


def _meets(placed: Placed, slot: Ints, low: Floats, high: Floats, row: Ints) -> np.ndarray:
    """Whether the extents of bodies `slot` meet the boxes low, high (3, k) of `row`."""
    out = np.ones(len(slot), dtype=bool)
    for k in range(3):
        out &= (placed.low[k][slot] < high[k][row]) & (placed.high[k][slot] > low[k][row])
    return out


def _entered(placed: Placed, slot: Ints, at: Floats, zones: Sequence[Zone]) -> np.ndarray:
    """(k, zones) which zones around `at` (3, k) the bodies `slot` enter."""
    out = np.zeros((len(slot), len(zones)), dtype=bool)
    low, high = placed.low[:, slot] - at, placed.high[:, slot] - at
    for k, zone in enumerate(zones):
        out[:, k] = box_enters(low, high, zone)  # exact for upright boxes; for others whether it can be
    rough = np.flatnonzero(~placed.upright[slot] & out.any(axis=1))
    if len(rough):
        first, of = alike(placed, slot[rough], at[:, rough], largest(zones)[:2])
        some = rough[first]
        out[rough] &= _by_triangles(placed, slot[some], at[:, some], zones)[of]
    return out


def _by_triangles(placed: Placed, slot: Ints, at: Floats, zones: Sequence[Zone]) -> np.ndarray:
    spans = placed.spans()
    parts = [_exact(placed, spans, slot[p], at[:, p], zones) for p in _chunks(np.diff(placed.offsets)[slot])]
    return np.concatenate(parts)


def _chunks(lengths: Ints) -> list[slice]:
    total = np.cumsum(lengths)
    cuts = np.searchsorted(total, np.arange(CHUNK, (total[-1] if len(total) else 0) + CHUNK, CHUNK), side="left") + 1
    edges = np.unique(np.r_[0, np.minimum(cuts, len(lengths))])
    return [slice(a, b) for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True)]


def _exact(placed: Placed, spans: tuple[Floats, Floats], slot: Ints, at: Floats, zones: Sequence[Zone]) -> np.ndarray:
    """`_entered` by triangles; and zones that lie wholly inside a body: no surface enters them, and a ray from their
    middle leaves the body once."""
    hx, hy, depth = largest(zones)
    corner, pair = _around(placed, slot, at, spans, ((-hx, hx), (-hy, hy), (0.0, depth)))
    out = np.column_stack([entered(corner, pair, len(slot), zone) for zone in zones])
    for k, zone in enumerate(zones):
        half = np.array([*zone.half, zone.depth / 2])[:, None]
        middle = at + np.array([[0.0], [0.0], [zone.depth / 2]])
        holds = (placed.low[:, slot] <= middle - half).all(axis=0) & (placed.high[:, slot] >= middle + half).all(axis=0)
        inside = np.flatnonzero(~out[:, k] & holds)
        if len(inside):
            corner, pair = _around(placed, slot[inside], at[:, inside])
            out[inside, k] = surrounds(corner, pair, len(inside), zone.depth / 2)
    return out


def _around(placed: Placed, slot: Ints, at: Floats, spans: tuple[Floats, Floats] | None = None,
            limits: Sequence[tuple[float, float]] = ()) -> tuple[Floats, Ints]:
    """Triangles (3 corners, 3 coordinates, m) of the bodies `slot` from `at` (3, k), and their pair; only those whose
    extents (`spans`) meet the limits along x, y, depth."""
    triangle, pair = placed.triangles(slot)
    if spans is not None:
        low, high = spans
        for k in (2, 1, 0):  # most triangles are out of the zones' depth
            least, most = limits[k]
            away = at[k][pair]
            near = (low[k][triangle] - away < most) & (high[k][triangle] - away > least)
            triangle, pair = triangle[near], pair[near]
    return placed.corners(triangle) - at[:, pair], pair


def outlines(frames: Frames, bodies: Table, pairs: tuple[Ints, Ints], depth: float) -> tuple[Floats, Ints]:
    """Outlines (6, 2, m) from the anchor's axis, seen along it, of the triangles of each pair's body within `depth`; and the
    pair of each."""
    anchor, body = pairs
    axes = frames.axes
    placed, slot = place(bodies, axes, np.repeat(axes.of, frames.counts)[anchor], body)
    corner, pair = _around(placed, slot, axes.at[:, anchor])
    z = corner[:, 2]
    keep = (z.min(axis=0) < depth) & (z.max(axis=0) > 0)
    return sliced(corner[:, :, keep], 0.0, depth), pair[keep]


def extents(frames: Frames, bodies: Table, pairs: tuple[Ints, Ints], depth: float) -> Floats:
    """(k, 4) least x, y and greatest x, y from the anchor's axis of the part of each body within `depth`; nan: none."""
    points, pair = outlines(frames, bodies, pairs, depth)
    low, high = np.full((len(pairs[0]), 2), np.inf), np.full((len(pairs[0]), 2), -np.inf)
    np.minimum.at(low, pair, points.min(axis=0).T)
    np.maximum.at(high, pair, points.max(axis=0).T)
    return np.where(np.isfinite(np.hstack([low, high])), np.hstack([low, high]), np.nan)


def ends(frames: Frames, bodies: Table, pairs: tuple[Ints, Ints], zone: Zone, axis: int) -> Floats:
    """(2, k) least and greatest place along x (0) or y (1) of the part of each body that the zone meets when its anchor
    moves that way; nan: none."""
    points, pair = outlines(frames, bodies, pairs, zone.depth)
    low, high = within_strip(points, axis, zone.half[1 - axis])
    there = ~np.isnan(low)
    out = np.array([np.full(len(pairs[0]), np.inf), np.full(len(pairs[0]), -np.inf)])
    np.minimum.at(out[0], pair[there], low[there])
    np.maximum.at(out[1], pair[there], high[there])
    return np.where(np.isfinite(out), out, np.nan)
