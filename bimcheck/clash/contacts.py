"""Which bodies enter which zones of which anchors: boxes first, then triangles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from bimcheck.clash.places import Floats, Ints
from bimcheck.clash.zones import Zone, entered, sliced, surrounds
from bimcheck.core.tables import Ragged, Table

CHUNK = 400_000  # triangles at a time, to bound the memory


def largest(zones: Sequence[Zone]) -> tuple[float, float, float]:
    """Greatest half width, half height and depth."""
    return max(z.half[0] for z in zones), max(z.half[1] for z in zones), max(z.depth for z in zones)


@dataclass(frozen=True)
class Frames:
    """Anchors: mouth (k, 3) of the hole on the rear face, world mm; u, v, n (k, 3) axes of their panels; panel (k,) rising."""

    mouth: Floats
    u: Floats
    v: Floats
    n: Floats
    panel: Ints

    def take(self, rows: Ints) -> Frames:
        return Frames(self.mouth[rows], self.u[rows], self.v[rows], self.n[rows], self.panel[rows])

    @property
    def starts(self) -> Ints:
        """First anchor of each panel that has some."""
        return np.flatnonzero(np.r_[True, self.panel[1:] != self.panel[:-1]])

    def boxes(self, zones: Sequence[Zone]) -> Floats:
        """(k, 6) world boxes around all zones."""
        hx, hy, depth = largest(zones)
        spread = np.abs(self.u) * hx + np.abs(self.v) * hy
        far = -depth * self.n
        return np.hstack([self.mouth + np.minimum(far, 0.0) - spread, self.mouth + np.maximum(far, 0.0) + spread])


@dataclass(frozen=True)
class Contacts:
    """anchor, body (k,) rows; zone (k, zones) which zones the body enters."""

    anchor: Ints
    body: Ints
    zone: np.ndarray

    def take(self, rows: Any) -> Contacts:
        return Contacts(self.anchor[rows], self.body[rows], self.zone[rows])


def contacts(frames: Frames, bodies: Table, zones: Sequence[Zone]) -> Contacts:
    """Pairs of anchors and bodies that share more than a touch with at least one zone."""
    anchor, body = meeting(frames, zones, bodies["box"])
    zone = np.zeros((len(anchor), len(zones)), dtype=bool)
    for part in _chunks(bodies["triangles"].lengths[body]):
        zone[part] = _exact(frames, bodies, (anchor[part], body[part]), zones)
    return Contacts(anchor, body, zone).take(zone.any(axis=1))


def meeting(frames: Frames, zones: Sequence[Zone], box: Floats) -> tuple[Ints, Ints]:
    """Pairs of anchors and bodies whose boxes meet, in the world and in the panel's frame; panel by panel first."""
    starts = frames.starts
    group, body = group_pairs(frames, zones, box)
    count = np.diff(np.r_[starts, len(frames.panel)])[group]
    pair = np.repeat(np.arange(len(group)), count)
    anchor = starts[group][pair] + np.arange(len(pair)) - np.repeat(np.cumsum(count) - count, count)
    body = body[pair]
    near = _meets_in_frame(frames, anchor, zones, box[body])
    anchor, body = anchor[near], body[near]
    order = np.lexsort((body, anchor))
    return anchor[order], body[order]


def _meets_in_frame(frames: Frames, anchor: Ints, zones: Sequence[Zone], box: Floats) -> np.ndarray:
    """Whether the extent of a world box along the panel's axes meets that of the anchor's zones."""
    hx, hy, depth = largest(zones)
    away, half = (box[:, :3] + box[:, 3:]) / 2 - frames.mouth[anchor], (box[:, 3:] - box[:, :3]) / 2
    out = np.ones(len(anchor), dtype=bool)
    for axis, low, high in ((frames.u, -hx, hx), (frames.v, -hy, hy), (frames.n, -depth, 0.0)):
        a = axis[anchor]
        at, reach = np.einsum("ki,ki->k", away, a), np.einsum("ki,ki->k", half, np.abs(a))
        out &= (at - reach < high) & (at + reach > low)
    return out


def group_pairs(frames: Frames, zones: Sequence[Zone], box: Floats) -> tuple[Ints, Ints]:
    """Panels (by number in `starts`) and bodies whose world boxes meet: a tree over the two axes along which the panel
    extends, then the third."""
    starts = frames.starts
    each = frames.boxes(zones)
    zone = np.hstack([np.minimum.reduceat(each[:, :3], starts), np.maximum.reduceat(each[:, 3:], starts)])
    flat = np.argmax(np.abs(frames.n[starts]), axis=1)
    found = [(np.zeros(0, dtype=np.int64),) * 2]
    for axis in range(3):
        rows = np.flatnonzero(flat == axis)
        if len(rows) and len(box):
            a, b = (k for k in range(3) if k != axis)
            z = zone[rows]
            # Bodies beside the facades of this direction are left out of the tree.
            near = np.flatnonzero((box[:, axis] < z[:, axis + 3].max()) & (box[:, axis + 3] > z[:, axis].min()))
            tree = shapely.STRtree(shapely.box(box[near, a], box[near, b], box[near, a + 3], box[near, b + 3]))
            i, j = tree.query(shapely.box(z[:, a], z[:, b], z[:, a + 3], z[:, b + 3]))
            j = near[j]
            meets = (z[i, axis] < box[j, axis + 3]) & (z[i, axis + 3] > box[j, axis])
            found.append((rows[i[meets]], j[meets]))
    group, body = (np.concatenate(c) for c in zip(*found, strict=True))
    return group, body


def _chunks(lengths: Ints) -> list[slice]:
    total = np.cumsum(lengths)
    cuts = np.searchsorted(total, np.arange(CHUNK, (total[-1] if len(total) else 0) + CHUNK, CHUNK), side="left") + 1
    edges = np.unique(np.r_[0, np.minimum(cuts, len(lengths))])
    return [slice(a, b) for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True)]


def in_frames(frames: Frames, triangles: Ragged, anchor: Ints, body: Ints, box: Floats | None = None) -> tuple[Floats, Ints]:
    """Triangles of each pair's body in the anchor's frame (3 corners, 3 coordinates, m), and their pair; only those whose
    world box meets `box`."""
    lengths = triangles.lengths[body]
    pair = np.repeat(np.arange(len(anchor)), lengths)
    index = np.arange(len(pair)) + np.repeat(triangles.offsets[body] - np.cumsum(lengths) + lengths, lengths)
    corner = np.ascontiguousarray(triangles.values[index].T).reshape(3, 3, -1)
    if box is not None:
        a, b, c = corner
        z = box[pair].T
        near = (np.minimum(np.minimum(a, b), c) <= z[3:]) & (np.maximum(np.maximum(a, b), c) >= z[:3])
        near = near.all(axis=0)
        pair, corner = pair[near], corner[:, :, near]
    at = frames.take(anchor[pair])
    away = corner - at.mouth.T
    return np.stack([_dot(away, at.u), _dot(away, at.v), -_dot(away, at.n)], axis=1), pair


def _dot(corner: Floats, axis: Floats) -> Floats:
    """(3, m) of corners (3, 3, m) along axes (m, 3)."""
    x, y, z = axis.T
    return corner[:, 0] * x + corner[:, 1] * y + corner[:, 2] * z


def _exact(frames: Frames, bodies: Table, pairs: tuple[Ints, Ints], zones: Sequence[Zone]) -> np.ndarray:
    anchor, body = pairs
    box = frames.boxes(zones)[anchor]
    corner, pair = in_frames(frames, bodies["triangles"], anchor, body, box)
    out = np.zeros((len(anchor), len(zones)), dtype=bool)
    for k, zone in enumerate(zones):
        out[:, k] = entered(corner, pair, len(anchor), zone)
    _fill_inside(frames, bodies, pairs, zones, out)
    return out


def _fill_inside(frames: Frames, bodies: Table, pairs: tuple[Ints, Ints], zones: Sequence[Zone], out: np.ndarray) -> None:
    """Zones that lie wholly inside a body: no surface enters them, and a ray from their middle leaves the body once."""
    anchor, body = pairs
    for k, zone in enumerate(zones):
        box = frames.boxes([zone])[anchor]
        held = bodies["box"][body]
        inside = np.flatnonzero(~out[:, k] & (held[:, :3] <= box[:, :3]).all(axis=1) & (held[:, 3:] >= box[:, 3:]).all(axis=1))
        if len(inside):
            corner, pair = in_frames(frames, bodies["triangles"], anchor[inside], body[inside])
            out[inside, k] = surrounds(corner, pair, len(inside), zone.depth / 2)


def extents(frames: Frames, bodies: Table, pairs: tuple[Ints, Ints], depth: float) -> Floats:
    """(k, 4) least x, y and greatest x, y from the anchor's axis of the part of each body within `depth`; nan: none."""
    corner, pair = in_frames(frames, bodies["triangles"], *pairs)
    z = corner[:, 2]
    keep = (z.min(axis=0) < depth) & (z.max(axis=0) > 0)
    points, pair = sliced(corner[:, :, keep], 0.0, depth), pair[keep]
    low, high = np.full((len(pairs[0]), 2), np.inf), np.full((len(pairs[0]), 2), -np.inf)
    np.minimum.at(low, pair, points.min(axis=0).T)
    np.maximum.at(high, pair, points.max(axis=0).T)
    return np.where(np.isfinite(np.hstack([low, high])), np.hstack([low, high]), np.nan)
