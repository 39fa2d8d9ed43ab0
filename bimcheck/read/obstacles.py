"""The table of obstacles: bodies that may stand behind or beside panels, with their triangles in world coordinates."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table
from bimcheck.read import words
from bimcheck.read.attributes import GUID, NAME, OBJECT_TYPE, Listed, joined, listed
from bimcheck.read.choose import is_body, ours
from bimcheck.read.collect import collect
from bimcheck.read.elements import ReadElements, text
from bimcheck.read.links import Links
from bimcheck.read.materials import Materials
from bimcheck.read.model import Opened
from bimcheck.read.place import Placer
from bimcheck.read.roles import class_role, role_of, role_of_reason
from bimcheck.read.source import Source
from bimcheck.read.triangles import ends, triangles

Ints = NDArray[np.int64]
AT_ONCE = 1 << 15  # points moved together
STRUCTURE = ("slab", "wall")  # always kept: the building's plan comes from them


@dataclass(frozen=True)
class Seen:
    """Elements with their role and main material."""

    listed: Listed
    role: list[str]
    material: list[str]


def read_obstacles(opened: Opened, source: Source, placer: Placer, seen: Seen) -> Table:
    """Bodies of one model that are no panels, by element number."""
    elements = seen.listed
    bodies = collect(source, placer, elements.numbers, elements.shape)
    keep = np.flatnonzero(bodies.index >= 0)
    local = triangles(bodies, bodies.index[keep])
    some = np.flatnonzero(local.lengths > 0)
    keep, local = (keep, local) if len(some) == len(keep) else (keep[some], local.take(some))
    moved = _moved(local, placer.many(source, elements.placement[keep]))
    columns = {"guid": elements.texts(GUID), "name": elements.texts(NAME), "ifc_class": elements.classes,
               "material_name": seen.material, "role": seen.role}
    return Table("obstacles", len(keep), {
        **{name: text(values)[keep] for name, values in columns.items()}, "step_id": elements.numbers[keep],
        "model": text([opened.name] * len(keep)), "box": _boxes(moved), "triangles": moved})


def among(read: ReadElements) -> Seen:
    """Considered elements that turned out to be no panels; those are bodies in the way as well."""
    roles = [role_of_reason(reason, a.texts) for reason, a in zip(read.table["reason"], read.written, strict=True)]
    at = [i for i, role in enumerate(roles) if role]
    return Seen(read.listed.take(np.array(at, dtype=np.int64)), [roles[i] for i in at], [read.written[i].names.main for i in at])


def others(source: Source, links: Links, taken: Ints) -> Seen:
    """All other elements; taken: rows of those considered."""
    materials, step = Materials(source.file, links), source.step
    kinds = {i: class_role(kind.classes) for i, kind in enumerate(source.kinds)}
    rows = source.of_class("IfcElement")
    rows = rows[is_body(source, rows) & ~np.isin(rows, taken) & np.isin(step.kinds[rows], [i for i, role in kinds.items() if role])]
    rows = rows[~ours(source, rows, links)]
    elements = listed(source, rows)
    names = [materials.of(n) for n in elements.numbers.tolist()]
    texts = map(words.words_of, elements.texts(NAME), elements.texts(OBJECT_TYPE))
    role = [role_of(kinds[k], t, n) for k, t, n in zip(step.kinds[rows].tolist(), texts, names, strict=True)]
    return Seen(elements, role, [n.main for n in names])


def together(a: Seen, b: Seen) -> Seen:
    order = np.argsort(np.r_[a.listed.rows, b.listed.rows], kind="stable").tolist()
    role, material = a.role + b.role, a.material + b.material
    return Seen(joined(a.listed, b.listed), [role[i] for i in order], [material[i] for i in order])


def _moved(found: Ragged, matrices: np.ndarray) -> Ragged:
    """(k, 9) triangles of every body in world coordinates."""
    points, per_row = found.values.reshape(-1, 3), np.repeat(found.rows, 3)
    out = np.empty_like(points)
    for i in range(0, len(points), AT_ONCE):
        own = matrices[per_row[i : i + AT_ONCE]]
        out[i : i + AT_ONCE] = np.einsum("nij,nj->ni", own[:, :3, :3], points[i : i + AT_ONCE]) + own[:, :3, 3]
    return Ragged(out.reshape(-1, 9), found.offsets)


def _boxes(triangles: Ragged) -> np.ndarray:
    if not len(triangles):
        return np.zeros((0, 6))
    low, high = ends(triangles.values)
    starts = triangles.offsets[:-1]
    return np.hstack([np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)])


def near(obstacles: Table, elements: Table, reach: float) -> Table:
    """Without bodies farther than `reach` from the box around all panels; structure stays."""
    points = elements["raw_origin"][(elements["status"] == "panel") & np.isfinite(elements["thickness"])]
    if not obstacles.n or not len(points):
        return obstacles
    size = 10000.0  # a panel's own extent from its origin
    low, high = points.min(axis=0) - reach - size, points.max(axis=0) + reach + size
    box = obstacles["box"]
    inside = ((box[:, :3] <= high) & (box[:, 3:] >= low)).all(axis=1)
    keep = inside | np.isin(obstacles["role"], STRUCTURE)
    return obstacles if keep.all() else obstacles.take(keep)


