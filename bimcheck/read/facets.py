"""Faceted bodies read in one batch: boundary representations of plane faces, and triangles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.steptext import Step
from bimcheck.read.bodies import Shell
from bimcheck.read.place import points
from bimcheck.read.source import Source, references

Floats = NDArray[Any]  # of float64
Ints = NDArray[np.int64]
FAR = 1 << 40  # beyond any entity number
TRIANGLES = "IFCTRIANGULATEDFACESET"


def facets(source: Source, factor: float, items: Ints) -> dict[int, Shell]:
    """Shells by position in `items` (entity numbers of any kind); what is missing is to be asked from the file."""
    return _breps(source.step, factor, items) | _triangulated(source, factor, items)


@dataclass(frozen=True)
class _Level:
    """Children (k,) of all items, in order, and the item of each; ok: (n,) items of which all could be read."""

    child: Floats
    item: Ints
    ok: NDArray[np.bool_]


def _below(step: Step, above: _Level, *names: str) -> tuple[_Level, Ints]:
    """The entities that those of `above`, of one of the types, list; and of which of them each is a child."""
    known = step.is_one(above.child, *names)
    ok = above.ok & (np.bincount(above.item[~known], minlength=len(above.ok)) == 0)
    use = np.flatnonzero(ok[above.item])
    found = step.values(step.rows(above.child[use]))
    return _Level(found.values, above.item[use][found.rows], ok), use[found.rows]


def _breps(step: Step, factor: float, items: Ints) -> dict[int, Shell]:
    at = np.flatnonzero(step.is_one(items, "IFCFACETEDBREP"))
    whole = _Level(items[at].astype(float), np.arange(len(at)), np.ones(len(at), bool))
    shell, _ = _below(step, whole, "IFCFACETEDBREP")
    face, _ = _below(step, shell, "IFCCLOSEDSHELL", "IFCOPENSHELL")
    bound, face_of = _below(step, face, "IFCFACE")
    pair, bound_of = _below(step, bound, "IFCFACEOUTERBOUND", "IFCFACEBOUND")
    if not np.array_equal(bound_of[::2], bound_of[1::2]):  # not all state one loop and its direction
        return {}
    loop = _Level(pair.child[::2], pair.item[::2], pair.ok)
    vertex, loop_of = _below(step, loop, "IFCPOLYLOOP")
    place, read = points(step, vertex.child)
    ok = vertex.ok & (np.bincount(vertex.item[~read], minlength=len(at)) == 0)
    rings = _Rings(vertex, loop_of, loop.item, pair.child[1::2] != 0, face_of[bound_of[::2]])
    return {int(at[i]): shell for i, shell in _shells(ok, place * factor, rings).items()}


@dataclass(frozen=True)
class _Rings:
    """vertex: points of the loops; loop: (k,) which loop each is of; item, forward, face of each loop."""

    vertex: _Level
    loop: Ints
    item: Ints
    forward: NDArray[np.bool_]
    face: Ints


def _shells(ok: NDArray[np.bool_], place: Floats, rings: _Rings) -> dict[int, Shell]:
    """Points numbered within each item as they come; loops of faces in their order."""
    owner, each = rings.vertex.item, np.arange(len(ok) + 1)
    _, first, back = np.unique(owner * FAR + rings.vertex.child.astype(np.int64), return_index=True, return_inverse=True)
    order = np.argsort(first, kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    point = place[first[order]]
    starts = np.searchsorted(owner[first[order]], each)
    local, ends = (rank[back] - starts[owner]).tolist(), np.searchsorted(rings.loop, np.arange(len(rings.item) + 1)).tolist()
    loops = [local[a:b] if f else local[a:b][::-1] for a, b, f in zip(ends[:-1], ends[1:], rings.forward.tolist(), strict=True)]
    cuts = np.searchsorted(rings.item, each).tolist()
    some = [i for i in np.flatnonzero(ok).tolist() if cuts[i + 1] > cuts[i]]
    return {i: Shell(point[starts[i] : starts[i + 1]], loops[cuts[i] : cuts[i + 1]],
                     (rings.face[cuts[i] : cuts[i + 1]] - rings.face[cuts[i]]).tolist()) for i in some}


def _triangulated(source: Source, factor: float, items: Ints) -> dict[int, Shell]:
    """Sets of triangles that number the points of their list themselves."""
    step = source.step
    at = np.flatnonzero(step.is_one(items, TRIANGLES))
    if not len(at):
        return {}
    rows = step.rows(items[at])
    names = source.kinds[step.kinds[rows[0]]].attributes
    where, index, renumbered = (names.index(n) for n in ("Coordinates", "CoordIndex", "PnIndex"))
    written = source.attributes(rows)
    lists = references([w[where] for w in written])
    coordinates = step.values(step.rows(lists))
    plain = step.is_one(lists, "IFCCARTESIANPOINTLIST3D") & (coordinates.lengths % 3 == 0)
    out = {}
    for k, (own, position) in enumerate(zip(written, at.tolist(), strict=True)):
        if plain[k] and len(own) > renumbered and own[renumbered] == b"$":
            corners = np.fromstring(own[index].translate(None, b"() \r\n"), dtype=np.int64, sep=",").reshape(-1, 3) - 1
            out[position] = Shell(coordinates[k].reshape(-1, 3) * factor, corners.tolist(), list(range(len(corners))))
    return out


