"""Which bodies take part, and panels as bodies for the zones of other panels."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from fnmatch import fnmatchcase
from typing import Any

import numpy as np
import shapely

from bimcheck.clash.frames import Frames
from bimcheck.clash.places import Floats, Ints, column
from bimcheck.core.tables import Ragged, Table

FEW_AXES = 64
SLACK = 1e-3  # mm by which planes are told apart


def taking_part(obstacles: Table, settings: Mapping[str, Any]) -> Ints:
    """Rows of the roles that may stand in the way and have a body, without what the project file names."""
    seen = among(obstacles["role"], settings["clash.roles"]) & ~left_out(obstacles, settings)
    return np.flatnonzero(seen & (obstacles["triangles"].lengths > 0))


def left_out(obstacles: Table, settings: Mapping[str, Any]) -> np.ndarray:
    """(n,) what the project file names as of no account: by name, class or material."""
    return (_matches(column(obstacles, "name"), settings["clash.ignored_names"])
            | _matches(column(obstacles, "ifc_class"), settings["clash.ignored_classes"])
            | _matches(column(obstacles, "material_name"), settings["clash.ignored_materials"]))


def among(values: np.ndarray, names: Collection[str]) -> np.ndarray:
    """(n,) whether each text is one of the names."""
    wanted = set(names)
    return np.fromiter(map(wanted.__contains__, values.tolist()), dtype=bool, count=len(values))


def _matches(values: np.ndarray, patterns: Sequence[str]) -> np.ndarray:
    """(n,) whether each text matches one of the patterns; case is ignored."""
    lowered = [p.lower() for p in patterns]
    if not lowered:
        return np.zeros(len(values), dtype=bool)
    texts = set(values.tolist())
    return among(values, {v for v in texts if any(fnmatchcase(str(v).lower(), p) for p in lowered)})


def panel_boxes(elements: Table, rows: Ints) -> Floats:
    """(k, 6) world boxes of the panels' bounding bodies; nan where there is no body."""
    base, sides = elements["origin"][rows], _sides(elements, rows)
    return np.hstack([base + sum(np.minimum(s, 0.0) for s in sides), base + sum(np.maximum(s, 0.0) for s in sides)])


def reaching(elements: Table, frames: Frames, low: float, depth: float) -> Ints:
    """Rows whose bounding body has a part between `low` and `depth` behind the rear face of some panel, were that face
    endless; all rows where the axes are too many to look at one by one."""
    axes = frames.axes
    if len(axes.matrix) > FEW_AXES:
        return np.arange(elements.n)
    depths = axes.at[2, frames.starts]
    corner, sides = elements["origin"] - axes.base, _sides(elements, np.arange(elements.n))
    out = np.zeros(elements.n, dtype=bool)
    for kind, (_, _, inwards) in enumerate(axes.matrix):
        along = [s @ inwards for s in sides]
        nearest = corner @ inwards + sum(np.minimum(a, 0.0) for a in along)
        farthest = corner @ inwards + sum(np.maximum(a, 0.0) for a in along)
        rear = np.unique(np.round(depths[axes.of == kind], 3))
        # The first rear face that stands less than `depth` before the body; should it pass none, inf.
        first = np.r_[rear, np.inf][np.searchsorted(rear, nearest - depth - SLACK)]
        out |= farthest - low + SLACK > first
    return np.flatnonzero(out)


def _sides(elements: Table, rows: Ints) -> list[Floats]:
    """Edges (k, 3) of the bounding bodies from the lower-left corner of the front face: along, up, inwards."""
    return [elements[axis][rows] * elements[size][rows, None] * way
            for axis, size, way in (("u", "width", 1.0), ("v", "height", 1.0), ("n", "thickness", -1.0))]


def reaches_behind(elements: Table, panel: Ints, other: Ints, low: float, depth: float) -> np.ndarray:
    """Whether the bounding body of `other` has a part between `low` and `depth` behind the rear face of `panel`."""
    n = elements["n"][panel]
    along = [np.einsum("ki,ki->k", s, n) for s in _sides(elements, other)]
    start = np.einsum("ki,ki->k", elements["origin"][other] - elements["origin"][panel], n) + elements["thickness"][panel]
    nearest = -(start + sum(np.maximum(a, 0.0) for a in along))
    farthest = -(start + sum(np.minimum(a, 0.0) for a in along))
    return (farthest > low) & (nearest < depth) & (panel != other)


def panel_bodies(elements: Table, rows: Ints) -> Table:
    """The rows' panels as closed bodies; `panel` is the row of elements."""
    there = rows[elements["outline"].lengths[rows] > 2]
    owner, flat = _flat(elements, there)
    triangles, index = _solid(elements, owner, flat)
    order = np.argsort(index, kind="stable")
    lengths = np.bincount(index, minlength=elements.n)[there]
    body = Ragged(triangles[order].reshape(-1, 9), np.r_[0, np.cumsum(lengths)].astype(np.int64))
    points = body.values.reshape(-1, 3, 3)
    starts = body.offsets[:-1]
    box = np.column_stack([np.minimum.reduceat(points.min(axis=1), starts), np.maximum.reduceat(points.max(axis=1), starts)]) \
        if len(there) else np.zeros((0, 6))
    return Table("bodies", len(there), {"panel": there, "box": box, "triangles": body})


def _flat(elements: Table, rows: Ints) -> tuple[Ints, Floats]:
    """Faces in the panel's plane: owner, (k, 3, 2) triangles."""
    outline = elements["outline"]
    plain = rows[outline.lengths[rows] == 4]
    w, h = elements["width"][plain], elements["height"][plain]
    upright = np.abs(_area(outline, plain) - w * h) < 1e-6 * w * h
    plain = plain[upright]
    zero, w, h = np.zeros(len(plain)), w[upright], h[upright]
    corner = [np.column_stack(c) for c in ((zero, zero), (w, zero), (w, h), (zero, h))]
    two = np.stack([np.stack([corner[0], corner[1], corner[2]], axis=1), np.stack([corner[0], corner[2], corner[3]], axis=1)], axis=1)
    owner, faces = [np.repeat(plain, 2)], [two.reshape(-1, 3, 2)]
    for row in np.setdiff1d(rows, plain).tolist():
        points = outline[row]
        rings = [points[points[:, 2] == k, :2] for k in np.unique(points[:, 2])]
        parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))))
        owner.append(np.full(len(parts), row))
        faces.append(shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3])
    return np.concatenate(owner), np.concatenate(faces)


def _area(outline: Ragged, rows: Ints) -> Floats:
    points = outline.take(rows).values.reshape(-1, 4, 3) if len(rows) else np.zeros((0, 4, 3))
    x, y = points[:, :, 0], points[:, :, 1]
    return np.abs((x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1)) / 2


def _solid(elements: Table, owner: Ints, flat: Floats) -> tuple[Floats, Ints]:
    """Front, rear and sides: world triangles (m, 3, 3) and their owner."""
    outline = elements["outline"]
    values, rows = outline.values, outline.rows
    keep = np.isin(rows, owner)
    start = np.flatnonzero(np.r_[True, (rows[1:] != rows[:-1]) | (values[1:, 2] != values[:-1, 2])]) if len(rows) else np.zeros(0, int)
    after = np.arange(1, len(values) + 1)
    after[np.r_[start[1:], len(values)] - 1] = start
    a, b, side = values[keep, :2], values[after[keep], :2], rows[keep]
    t = elements["thickness"]
    front, back = _lift(elements, owner, flat, np.zeros(len(owner))), _lift(elements, owner, flat, t[owner])
    edge = np.stack([a, b], axis=1)
    near, far = _lift(elements, side, edge, np.zeros(len(side))), _lift(elements, side, edge, t[side])
    walls = [np.stack([near[:, 0], near[:, 1], far[:, 1]], axis=1), np.stack([near[:, 0], far[:, 1], far[:, 0]], axis=1)]
    return np.concatenate([front, back, *walls]), np.concatenate([owner, owner, side, side])


def _lift(elements: Table, rows: Ints, points: Floats, depth: Floats) -> Floats:
    """(m, k, 3) world points of (m, k, 2) points in the panels' planes."""
    o, u, v, n = (elements[c][rows][:, None, :] for c in ("origin", "u", "v", "n"))
    return o + points[:, :, :1] * u + points[:, :, 1:] * v - depth[:, None, None] * n
