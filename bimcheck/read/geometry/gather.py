"""From elements to unique bodies: what is shared is read once, what is plain is read in batches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read import collect, kernel
from bimcheck.read.bodies import Body, Shell, body_of, operator
from bimcheck.read.geometry.boxes import boxes
from bimcheck.read.geometry.frames import Directions
from bimcheck.read.geometry.raw import get, kind
from bimcheck.read.geometry.shells import Shells
from bimcheck.read.geometry.solids import Solids
from bimcheck.read.place import Placer
from bimcheck.read.profiles import Unread

Floats = NDArray[np.float64]
BAD = (TypeError, ValueError, IndexError, AttributeError)  # values that the schema does not allow
RIGID = 1e-9


def gather(file: Any, placer: Placer, elements: Sequence[Any]) -> collect.Bodies:
    """Unique bodies of the elements, each in its element's own frame, mm, openings not cut."""
    index, first, representations = _representations(elements)
    reader = _Reader(placer)
    asked = [row for row, r in enumerate(representations) if not reader.read(row, r)]
    bodies = reader.done(len(representations))
    if asked:
        meshed = kernel.shells(file, placer.factor, [elements[first[row]] for row in asked], openings=False)
        for row in asked:
            bodies[row] = meshed.get(elements[first[row]].id())
    return collect.Bodies(bodies, index)


def _representations(elements: Sequence[Any]) -> tuple[NDArray[np.int64], list[int], list[Any]]:
    """For each element the row of its representation (-1 without); the first element and the representation of each row."""
    quick: dict[Any, int] = {}
    careful: dict[Any, int] = {}
    index = np.full(len(elements), -1, dtype=np.int64)
    first: list[int] = []
    found: list[Any] = []
    for i, element in enumerate(elements):
        representation = _body(element)
        if representation is None:
            continue
        key = _key(representation)
        row = quick.get(key)
        if row is None:
            # Maps with equal operators are one body though each has an operator of its own.
            value = collect._key(representation) if isinstance(key, tuple) else key
            row = quick[key] = careful.setdefault(value, len(found))
            if row == len(found):
                first.append(i)
                found.append(representation)
        index[i] = row
    return index, first, found


def _body(element: Any) -> Any | None:
    shape = get(element, 6)
    if shape is None:
        return None
    listed = get(shape, 2)
    if len(listed) == 1 and get(listed[0], 1) == "Body" and get(listed[0], 3):
        return listed[0]
    return body_of(element)


def _key(representation: Any) -> Any:
    items = get(representation, 3)
    if len(items) == 1 and kind(items[0]) == "IfcMappedItem":
        return get(items[0], 0).id(), get(items[0], 1).id()
    return representation.id()


class _Reader:
    """Bodies read so far: extrusions wait for their batch, shells for the search for boxes."""

    def __init__(self, placer: Placer) -> None:
        self.placer = placer
        self.solids = Solids(Directions())
        self.shells = Shells(placer.factor)
        self.other: dict[int, Body | None] = {}
        self._targets: dict[tuple[int, int], Floats | None] = {}

    def read(self, row: int, representation: Any) -> bool:
        """False where only the geometry kernel can say."""
        try:
            if not self._plain(row, representation):
                self.other[row] = collect._merged(representation, self.placer)
        except Unread:
            return False
        except BAD:
            self.other[row] = None
        return True

    def _plain(self, row: int, representation: Any) -> bool:
        items = get(representation, 3)
        if len(items) != 1:
            return False
        item, matrix = items[0], None
        if kind(item) == "IfcMappedItem":
            source, target = get(item, 0), get(item, 1)
            inner = get(get(source, 1), 3)
            matrix = self._map(source, target)
            if len(inner) != 1 or matrix is None:
                return False
            item = inner[0]
        if kind(item) == "IfcExtrudedAreaSolid":
            return self.solids.add(row, item, matrix)
        shell = self.shells.read(item)
        if shell is None:
            return False
        self.other[row] = shell if matrix is None else Shell(shell.points @ matrix[:3, :3].T + matrix[:3, 3], shell.loops, shell.face)
        return True

    def _map(self, source: Any, target: Any) -> Floats | None:
        """Matrix of a map that neither scales nor mirrors; None for the others."""
        key = get(source, 0).id(), target.id()
        if key not in self._targets:
            matrix = operator(target, self.placer) @ np.linalg.inv(self.placer.matrix(get(source, 0)))
            turn = matrix[:3, :3]
            rigid = np.allclose(turn @ turn.T, np.eye(3), rtol=0.0, atol=RIGID) and np.linalg.det(turn) > 0
            self._targets[key] = matrix if rigid else None
        return self._targets[key]

    def done(self, n: int) -> list[Body | None]:
        bodies: list[Body | None] = [self.other.get(row) for row in range(n)]
        for row, prism in zip(self.solids.body, self.solids.prisms(self.placer.factor), strict=True):
            bodies[row] = prism
        for row, prism in boxes([b if isinstance(b, Shell) else None for b in bodies]).items():
            bodies[row] = prism
        return bodies
