"""Wall planes in plan: rows of one direction and one offset, and the stretches that they cover."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.frames import Faces

ANGLE = np.radians(0.2)  # directions closer than this are one direction
ASKEW = np.cos(np.radians(3.0))  # rows turned less than this out of their facade are still part of it
SMALL = 0.1  # of the area of the plane that they lie in
BRIDGE = 250.0  # mm; gaps up to this inside a stretch are joints, not missing walls


@dataclass(frozen=True)
class Planes:
    """label: plane of every row, -1 where the row is no wall; normal, along (m, 2) unit vectors in plan (side open);
    offset (m,) of the mid-plane along the normal."""

    label: Ints
    normal: Floats
    along: Floats
    offset: Floats


@dataclass(frozen=True)
class Stretches:
    """Covered stretches of planes: plane, from a to b along it, from z0 to z1 in height; label: stretch of every row."""

    plane: Ints
    a: Floats
    b: Floats
    z0: Floats
    z1: Floats
    label: Ints

    def ends(self, planes: Planes) -> Floats:
        """(2m, 2) points in plan: end 2i is a, end 2i + 1 is b of stretch i."""
        base = (planes.normal * planes.offset[:, None])[self.plane]
        t = planes.along[self.plane]
        return np.stack([base + self.a[:, None] * t, base + self.b[:, None] * t], axis=1).reshape(-1, 2)


def chains(values: Floats, groups: Ints, gap: float) -> Ints:
    """Label rows by chains of values closer than `gap` within a group; labels rise with group, then value."""
    order = np.lexsort((values, groups))
    new = np.r_[True, (np.diff(groups[order]) != 0) | (np.diff(values[order]) > gap)] if len(order) else np.zeros(0, bool)
    labels = np.empty(len(values), dtype=np.int64)
    labels[order] = np.cumsum(new) - 1
    return labels


def find_planes(mid: Floats, n: Floats, wall: np.ndarray, weight: Floats, step: float) -> Planes:
    """Planes of the rows marked `wall`.

    mid: (n, 3) a point of each mid-plane.  n: normals (side open).  weight: areas.  step: mm between planes of a facade.
    """
    rows = np.flatnonzero(wall)
    direction = _directions(np.arctan2(n[rows, 1], n[rows, 0]) % np.pi, weight[rows])
    normal = np.column_stack([np.cos(direction), np.sin(direction)])
    offset = np.einsum("ij,ij->i", mid[rows, :2], normal)
    groups = np.unique(direction, return_inverse=True)[1]
    part = chains(offset, groups, step)
    count = part.max() + 1 if len(part) else 0
    first = np.full(count, len(rows))
    np.minimum.at(first, part, np.arange(len(rows)))
    total = np.bincount(part, weight[rows], minlength=count)
    mean = np.bincount(part, weight[rows] * offset, minlength=count) / total
    normal = normal[first]
    part = _absorbed(part, normal, mean, total, mid[rows, :2], step) if count else part
    kept, part = np.unique(part, return_inverse=True)
    normal, label = normal[kept], np.full(len(wall), -1)
    label[rows] = part
    return Planes(label, normal, np.column_stack([-normal[:, 1], normal[:, 0]]), mean[kept])


def _absorbed(part: Ints, normal: Floats, offset: Floats, total: Floats, mid: Floats, step: float) -> Ints:
    """Planes of single rows that are askew in a far larger plane join it."""
    cosine = np.abs(normal @ normal.T)
    host = (cosine > ASKEW) & (total[None, :] * SMALL > total[:, None])
    out = part.copy()
    for p in np.flatnonzero(host.any(axis=1)):
        rows = np.flatnonzero(part == p)
        away = np.abs(mid[rows] @ normal[host[p]].T - offset[host[p]]).max(axis=0)
        best = int(np.argmin(away))
        if away[best] <= step:
            out[rows] = np.flatnonzero(host[p])[best]
    return out


def _directions(angle: Floats, weight: Floats) -> Floats:
    """Mean direction (mod pi) of each row's chain of directions."""
    if not len(angle):
        return angle
    ordered = np.sort(angle)
    gaps = np.diff(np.r_[ordered, ordered[0] + np.pi])
    cut = ordered[(np.argmax(gaps) + 1) % len(ordered)]  # count from behind the widest gap: no chain crosses 0
    turned = (angle - cut + 1e-9) % np.pi
    label = chains(turned, np.zeros(len(angle), dtype=np.int64), ANGLE)
    mean = np.bincount(label, weight * turned) / np.bincount(label, weight)
    return (mean[label] + cut - 1e-9) % np.pi


def spans(face: Faces, planes: Planes) -> tuple[Floats, Floats]:
    """Extent of every row along its plane (nan where it has none)."""
    inside = planes.label >= 0
    along = np.zeros((len(planes.label), 3))
    along[inside, :2] = planes.along[planes.label[inside]]
    low, high = face.extent(along)
    return np.where(inside, low, np.nan), np.where(inside, high, np.nan)


def stretches(planes: Planes, span: tuple[Floats, Floats], height: tuple[Floats, Floats], use: np.ndarray) -> Stretches:
    """Stretches covered by the rows in `use`: unions along each plane over all heights.

    span, height: least and greatest coordinate of every row along its plane, and of its height.
    """
    (low, high), (z0, z1) = span, height
    rows = np.flatnonzero(use & (planes.label >= 0))
    order = rows[np.lexsort((low[rows], planes.label[rows]))]
    plane = planes.label[order]
    reach = _running_max(high[order], plane)
    new = np.r_[True, (plane[1:] != plane[:-1]) | (low[order][1:] > reach[:-1] + BRIDGE)] if len(order) else np.zeros(0, bool)
    starts = np.flatnonzero(new)
    label = np.full(len(planes.label), -1)
    label[order] = np.cumsum(new) - 1
    if not len(starts):
        none = np.zeros(0)
        return Stretches(plane, none, none, none, none, label)
    return Stretches(plane[starts], low[order][starts], np.maximum.reduceat(high[order], starts),
                     np.minimum.reduceat(z0[order], starts), np.maximum.reduceat(z1[order], starts), label)


def _running_max(values: Floats, groups: Ints) -> Floats:
    """Running maximum within rising groups."""
    if not len(values):
        return values
    lift = (values.max() - values.min() + 1.0) * (groups - groups[0])
    return np.maximum.accumulate(values + lift) - lift
