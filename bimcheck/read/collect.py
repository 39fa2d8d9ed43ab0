"""From elements to unique bodies: what is shared is read once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read import kernel
from bimcheck.read.bodies import Body, Prism, Shell, items_of, read_item
from bimcheck.read.extrusions import Extruded, extrusions
from bimcheck.read.place import Placer
from bimcheck.read.prisms import shell_of
from bimcheck.read.profiles import Unread
from bimcheck.read.representations import Unique, unique
from bimcheck.read.source import Source

Floats = NDArray[Any]  # of float64
Ints = NDArray[np.int64]
EXTRUSION = "IFCEXTRUDEDAREASOLID"
NOT_ALLOWED = (TypeError, ValueError, IndexError, AttributeError)  # values that the schema does not allow: a body stays unread


@dataclass(frozen=True)
class Quads:
    """Prisms over four corners: bodies (k,), rings (k, 4, 2) and vectors (k, 3) in the frames `matrix` (k, 4, 4), mm."""

    body: Ints
    ring: Floats
    matrix: Floats
    vector: Floats

    def prism(self, k: int) -> Prism:
        return Prism([self.ring[k]], self.matrix[k], self.vector[k], False)


@dataclass(frozen=True)
class Bodies:
    """body: unique bodies, None where nothing could be read or where it is one of the quads; index: (n,) body of each
    element, -1 without one."""

    body: list[Body | None]
    quads: Quads
    index: Ints

    def single(self, body: int) -> Body | None:
        """One body, wherever it is kept."""
        at = int(np.searchsorted(self.quads.body, body))
        return self.quads.prism(at) if at < len(self.quads.body) and self.quads.body[at] == body else self.body[body]


def collect(source: Source, placer: Placer, numbers: Ints, shapes: Ints) -> Bodies:
    """Unique bodies of elements by number and shape: plain extrusions in one batch, others one by one, the kernel for what is left."""
    found = unique(source, shapes)
    reader = _Reader(source, placer, found)
    quads = reader.read()
    if reader.asked:
        first = dict(zip(*(x.tolist() for x in np.unique(found.index, return_index=True)), strict=True))
        elements = {int(numbers[first[row]]): row for row in reader.asked}
        meshed = kernel.shells(source.file, placer.factor, [source.file.by_id(n) for n in elements], openings=False)
        for number, row in elements.items():
            reader.bodies[row] = meshed.get(number)
    return Bodies(reader.bodies, quads, found.index)


class _Reader:
    """Fills `bodies`; asked: bodies that only the kernel can read."""

    def __init__(self, source: Source, placer: Placer, found: Unique) -> None:
        self.source, self.placer, self.found = source, placer, found
        self.bodies: list[Body | None] = [None] * len(found.numbers)
        self.asked: list[int] = []
        self._moved: dict[int, tuple[int, Floats]] = {}  # body of one mapped extrusion -> item, matrix of its map

    def read(self) -> Quads:
        items, found = np.zeros(len(self.bodies), dtype=np.int64), self.found.items
        single = np.flatnonzero(found.lengths == 1)
        items[single] = found.values[found.offsets[single]]
        plain = self.source.step.kind(items) == EXTRUSION
        for row in np.flatnonzero(~plain).tolist():
            self._try(row, lambda row=row: self._merged(row))
        for row, (item, _) in self._moved.items():
            items[row], plain[row] = item, True
        rows = np.flatnonzero(plain)
        return self._extruded(rows, items[rows], extrusions(self.source.step, self.placer.factor, items[rows]))

    def _try(self, row: int, read: Any) -> None:
        try:
            self.bodies[row] = read()
        except Unread:
            self.asked.append(row)
        except NOT_ALLOWED:
            pass

    def _merged(self, row: int) -> Body | None:
        """The one body of a representation; a single mapped extrusion joins the batch and is None for now."""
        listed = list(items_of(self.source.file.by_id(int(self.found.numbers[row])), self.placer))
        if len(listed) == 1 and listed[0][1] is not None and listed[0][0].is_a() == "IfcExtrudedAreaSolid":
            self._moved[row] = (listed[0][0].id(), listed[0][1])
            return None
        read = [moved(read_item(item, self.placer), matrix) for item, matrix in listed]
        if len(read) == 1:
            return read[0]
        return joined(b if isinstance(b, Shell) else shell_of(b) for b in read) if read else None

    def _extruded(self, rows: Ints, items: Ints, found: Extruded) -> Quads:
        """Prisms over four corners where their item states them; the others as bodies of their own."""
        four = (found.rings.lengths == 4) & ~np.isin(rows, list(self._moved))
        for k in np.flatnonzero(~four).tolist():
            row, matrix = int(rows[k]), self._moved.get(int(rows[k]), (0, None))[1]
            self._try(row, lambda k=k, matrix=matrix: moved(self._prism(found, k, int(items[k])), matrix))
        at = np.flatnonzero(four)
        return Quads(rows[at], found.rings.take(at).values.reshape(-1, 4, 2), found.matrix[at], found.vector[at])

    def _prism(self, found: Extruded, k: int, item: int) -> Body:
        if len(found.rings[k]):
            return Prism([found.rings[k]], found.matrix[k], found.vector[k], False)
        return read_item(self.source.file.by_id(item), self.placer)


def joined(shells: Iterable[Shell]) -> Shell:
    """Several shells as one."""
    points, loops, face, at, count = [], [], [], 0, 0
    for shell in shells:
        points.append(shell.points)
        loops += [np.asarray(x) + at for x in shell.loops]
        face += [f + count for f in shell.face]
        at += len(shell.points)
        count = face[-1] + 1 if face else 0
    return Shell(np.concatenate(points), loops, face)


def moved(body: Body, matrix: Floats | None) -> Body:
    if matrix is None:
        return body
    if isinstance(body, Shell):
        return Shell(body.points @ matrix[:3, :3].T + matrix[:3, 3], body.loops, body.face)
    return _moved_prism(body, matrix)


def _moved_prism(prism: Prism, matrix: Floats) -> Body:
    """Mirroring and even scaling go into profile and vector, so that the frame stays a right-handed one."""
    frame = matrix @ prism.matrix
    turn = frame[:3, :3]
    scale = np.linalg.norm(turn, axis=0)
    even = np.allclose(turn.T @ turn, np.eye(3) * scale[0] ** 2, rtol=0, atol=1e-9 * max(scale[0] ** 2, 1e-30))
    if not even:
        shell = shell_of(prism)
        return Shell(shell.points @ matrix[:3, :3].T + matrix[:3, 3], shell.loops, shell.face)
    frame = frame.copy()
    frame[:3, :3] = turn / scale[0]
    flip = np.array([1.0, 1.0 if np.linalg.det(turn) > 0 else -1.0, 1.0])
    frame[:3, 1] *= flip[1]
    return Prism([r * scale[0] * flip[:2] for r in prism.rings], frame, prism.vector * scale[0] * flip, prism.arcs)
