"""The table of obstacles: bodies that may stand behind or beside panels, with their triangles in world coordinates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from bimcheck.core.tables import Ragged, Table
from bimcheck.read import words
from bimcheck.read.choose import is_body, is_ours
from bimcheck.read.collect import collect
from bimcheck.read.elements import ReadElements, text
from bimcheck.read.links import Links
from bimcheck.read.materials import Materials
from bimcheck.read.model import Opened
from bimcheck.read.place import Placer
from bimcheck.read.roles import class_role, role_of, role_of_reason
from bimcheck.read.triangles import triangles

STRUCTURE = ("slab", "wall")  # always kept: the building's plan comes from them


def read_obstacles(opened: Opened, placer: Placer, links: Links, read: ReadElements) -> Table:
    """All bodies of one model that are no panels, by element number."""
    return _table(opened, placer, [*_considered(opened.file, read), *_others(opened.file, links, read.ids)])


def considered_obstacles(opened: Opened, placer: Placer, read: ReadElements) -> Table:
    """Those among the elements considered."""
    return _table(opened, placer, _considered(opened.file, read))


def other_obstacles(opened: Opened, placer: Placer, links: Links, ids: set[int]) -> Table:
    """Those among all other elements; ids: numbers of the elements considered."""
    return _table(opened, placer, _others(opened.file, links, ids))


def _table(opened: Opened, placer: Placer, found: Sequence[tuple[Any, str, str]]) -> Table:
    listed = sorted(found, key=lambda e: e[0].id())
    elements = [e for e, _, _ in listed]
    bodies = collect(opened.file, placer, elements)
    local = triangles(bodies.body)
    keep = [i for i, b in enumerate(bodies.index.tolist()) if b >= 0 and len(local[b])]
    world = placer.many([elements[i].get_argument(5) for i in keep])
    moved = _moved([local[bodies.index[i]] for i in keep], world)
    corners = Ragged(moved.values.reshape(-1, 3), moved.offsets * 3)
    return Table("obstacles", len(keep), {
        "guid": text([str(elements[i].get_argument(0)) for i in keep]), "step_id": np.array([elements[i].id() for i in keep], dtype=np.int64),
        "name": text([str(elements[i].get_argument(2) or "") for i in keep]), "model": text([opened.name] * len(keep)),
        "ifc_class": text([elements[i].is_a() for i in keep]), "material_name": text([listed[i][2] for i in keep]),
        "role": text([listed[i][1] for i in keep]), "box": _boxes(corners), "triangles": moved})


def _considered(file: Any, read: ReadElements) -> list[tuple[Any, str, str]]:
    """Considered elements that turned out to be no panels; those are bodies in the way as well."""
    found = []
    for number, reason, a in zip(read.table["step_id"].tolist(), read.table["reason"], read.written, strict=True):
        role = role_of_reason(reason, a.texts)
        if role:
            found.append((file.by_id(number), role, a.names.main))
    return found


def _others(file: Any, links: Links, ids: set[int]) -> list[tuple[Any, str, str]]:
    materials = Materials(links)
    kinds: dict[str, str | None] = {}
    found = []
    for element in file.by_type("IfcElement"):
        name = element.is_a()
        if name not in kinds:
            kinds[name] = class_role(element) if is_body(element) else None
        if not kinds[name] or element.id() in ids or is_ours(element, links):
            continue
        names = materials.of(element)
        found.append((element, role_of(str(kinds[name]), words.words_of(element.get_argument(2), element.get_argument(4)), names), names.main))
    return found


def _moved(local: Sequence[np.ndarray], matrices: np.ndarray) -> Ragged:
    """(k, 9) triangles of every body in world coordinates."""
    flat = Ragged.of([t.reshape(-1, 9) for t in local], (9,))
    rows = np.repeat(flat.rows, 3)
    points = flat.values.reshape(-1, 3)
    if len(points):
        points = np.einsum("nij,nj->ni", matrices[rows, :3, :3], points) + matrices[rows, :3, 3]
    return Ragged(points.reshape(-1, 9), flat.offsets)


def _boxes(corners: Ragged) -> np.ndarray:
    if not len(corners):
        return np.zeros((0, 6))
    starts = corners.offsets[:-1]
    return np.hstack([np.minimum.reduceat(corners.values, starts), np.maximum.reduceat(corners.values, starts)])


def near(obstacles: Table, elements: Table, reach: float) -> Table:
    """Without bodies farther than `reach` from the box around all panels; structure stays."""
    points = elements["raw_origin"][(elements["status"] == "panel") & np.isfinite(elements["thickness"])]
    if not obstacles.n or not len(points):
        return obstacles
    size = 10000.0  # a panel's own extent from its origin
    low, high = points.min(axis=0) - reach - size, points.max(axis=0) + reach + size
    box = obstacles["box"]
    inside = ((box[:, :3] <= high) & (box[:, 3:] >= low)).all(axis=1)
    return obstacles.take(inside | np.isin(obstacles["role"], STRUCTURE))


