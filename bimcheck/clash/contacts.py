"""Which bodies enter which zones of which anchors: boxes first, then triangles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.clash.places import Floats, Ints
from bimcheck.clash.zones import Zone, enters, sliced, surrounds
from bimcheck.core.tables import Ragged, Table

CHUNK = 400_000  # triangles at a time, to bound the memory


@dataclass(frozen=True)
class Frames:
    """Anchors: mouth (k, 3) of the hole on the rear face, world mm; u, v, n (k, 3) axes of their panels."""

    mouth: Floats
    u: Floats
    v: Floats
    n: Floats

    def take(self, rows: Ints) -> Frames:
        return Frames(self.mouth[rows], self.u[rows], self.v[rows], self.n[rows])

    def boxes(self, zones: Sequence[Zone]) -> Floats:
        """(k, 6) world boxes around all zones."""
        hx, hy, depth = (max(v) for v in zip(*((z.half[0], z.half[1], z.depth) for z in zones), strict=True))
        spread = np.abs(self.u) * hx + np.abs(self.v) * hy
        far = -depth * self.n
        return np.hstack([self.mouth + np.minimum(far, 0.0) - spread, self.mouth + np.maximum(far, 0.0) + spread])


@dataclass(frozen=True)
class Contacts:
    """anchor, body (k,) rows; zone (k, zones) which zones the body enters."""

    anchor: Ints
    body: Ints
    zone: np.ndarray

    def take(self, rows: np.ndarray) -> Contacts:
        return Contacts(self.anchor[rows], self.body[rows], self.zone[rows])


def contacts(frames: Frames, bodies: Table, zones: Sequence[Zone], not_own: Ints | None = None) -> Contacts:
    """Pairs of anchors and bodies that share more than a touch with at least one zone.

    not_own: (k,) the body of each anchor's own panel, which is left out.
    """
    anchor, body = meeting(frames, frames.boxes(zones), bodies["box"])
    if not_own is not None:
        other = body != not_own[anchor]
        anchor, body = anchor[other], body[other]
    zone = np.zeros((len(anchor), len(zones)), dtype=bool)
    for part in _chunks(bodies["triangles"].lengths[body]):
        zone[part] = _exact(frames, bodies, (anchor[part], body[part]), zones)
    return Contacts(anchor, body, zone).take(zone.any(axis=1))


def meeting(frames: Frames, zone: Floats, box: Floats) -> tuple[Ints, Ints]:
    """Pairs whose world boxes meet: a tree over the two axes along which the panel extends, then the third."""
    flat = np.argmax(np.abs(frames.n), axis=1)
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
    anchor, body = (np.concatenate(c) for c in zip(*found, strict=True))
    order = np.lexsort((body, anchor))
    return anchor[order], body[order]


def _chunks(lengths: Ints) -> list[slice]:
    total = np.cumsum(lengths)
    cuts = np.searchsorted(total, np.arange(CHUNK, (total[-1] if len(total) else 0) + CHUNK, CHUNK), side="left") + 1
    edges = np.unique(np.r_[0, np.minimum(cuts, len(lengths))])
    return [slice(a, b) for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True)]


def in_frames(frames: Frames, triangles: Ragged, anchor: Ints, body: Ints, box: Floats | None = None) -> tuple[Floats, Ints]:
    """Triangles of each pair's body in the anchor's frame (m, 3, 3), and their pair; only those whose box meets `box`."""
    pair = np.repeat(np.arange(len(anchor)), triangles.lengths[body])
    index = np.arange(len(pair)) - np.searchsorted(pair, pair) + triangles.offsets[body][pair]
    corner = triangles.values[index].reshape(-1, 3, 3)
    if box is not None:
        z = box[pair]
        near = ((corner.min(axis=1) <= z[:, 3:]) & (corner.max(axis=1) >= z[:, :3])).all(axis=1)
        pair, corner = pair[near], corner[near]
    at = frames.take(anchor[pair])
    axes = np.stack([at.u, at.v, -at.n], axis=2)
    return np.matmul(corner - at.mouth[:, None, :], axes), pair


def _exact(frames: Frames, bodies: Table, pairs: tuple[Ints, Ints], zones: Sequence[Zone]) -> np.ndarray:
    anchor, body = pairs
    box = frames.boxes(zones)[anchor]
    corner, pair = in_frames(frames, bodies["triangles"], anchor, body, box)
    out = np.zeros((len(anchor), len(zones)), dtype=bool)
    for k, zone in enumerate(zones):
        out[pair[enters(corner, zone)], k] = True
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
    z = corner[:, :, 2]
    keep = (z.min(axis=1) < depth) & (z.max(axis=1) > 0)
    points, pair = sliced(corner[keep], 0.0, depth), pair[keep]
    low, high = np.full((len(pairs[0]), 2), np.inf), np.full((len(pairs[0]), 2), -np.inf)
    np.minimum.at(low, pair, points.min(axis=1))
    np.maximum.at(high, pair, points.max(axis=1))
    return np.where(np.isfinite(np.hstack([low, high])), np.hstack([low, high]), np.nan)
