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
from bimcheck.read.facets import facets
from bimcheck.read.maps import maps
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

    def read(self) -> Quads:
        step, found = self.source.step, self.found.items
        items = np.zeros(len(self.bodies), dtype=np.int64)
        single = np.flatnonzero(found.lengths == 1)
        items[single] = found.values[found.offsets[single]]
        shown = maps(step, self.placer.factor, items)
        items = np.where(shown.item > 0, shown.item, items)
        plain = step.is_one(items, EXTRUSION)
        faceted = facets(self.source, self.placer.factor, np.where(plain, 0, items))
        for row, shell in faceted.items():
            self.bodies[row] = moved(shell, shown.matrix[row] if shown.item[row] else None)
        for row in np.setdiff1d(np.flatnonzero(~plain), list(faceted)).tolist():
            self._try(row, lambda row=row: self._merged(row))
        rows = np.flatnonzero(plain)
        mapped = shown.item[rows] > 0
        return self._extruded(rows, items[rows], extrusions(step, self.placer.factor, items[rows]), mapped, shown.matrix[rows])

    def _try(self, row: int, read: Any) -> None:
        try:
            self.bodies[row] = read()
        except Unread:
            self.asked.append(row)
        except NOT_ALLOWED:
            pass

    def _merged(self, row: int) -> Body | None:
        """The one body of a representation."""
        listed = items_of(self.source.file.by_id(int(self.found.numbers[row])), self.placer)
        read = [moved(read_item(item, self.placer), matrix) for item, matrix in listed]
        if len(read) == 1:
            return read[0]
        return joined(b if isinstance(b, Shell) else shell_of(b) for b in read) if read else None

    def _extruded(self, rows: Ints, items: Ints, found: Extruded, mapped: NDArray[np.bool_], matrix: Floats) -> Quads:
        """Prisms over four corners where their item states them; the others as bodies of their own."""
        four = np.flatnonzero(found.rings.lengths == 4)
        quads = Quads(rows[four], found.rings.take(four).values.reshape(-1, 4, 2), found.matrix[four], found.vector[four])
        even = np.ones(len(four), bool)
        if mapped.any():
            quads, even = moved_quads(quads, np.where(mapped[four, None, None], matrix[four], np.eye(4)))
        for k in np.setdiff1d(np.arange(len(rows)), four[even]).tolist():
            self._try(int(rows[k]), lambda k=k: moved(self._prism(found, k, int(items[k])), matrix[k] if mapped[k] else None))
        return Quads(quads.body[even], quads.ring[even], quads.matrix[even], quads.vector[even])

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
    scale, flip, frame, even = _frames(prism.matrix[None], matrix[None])
    if not even[0]:
        shell = shell_of(prism)
        return Shell(shell.points @ matrix[:3, :3].T + matrix[:3, 3], shell.loops, shell.face)
    return Prism([r * scale[0] * flip[0, :2] for r in prism.rings], frame[0], prism.vector * scale[0] * flip[0], prism.arcs)


def moved_quads(quads: Quads, matrix: Floats) -> tuple[Quads, NDArray[np.bool_]]:
    """The same moved, each by its own matrix, and (k,) whether it is scaled evenly; only then it stays such a prism."""
    scale, flip, frame, even = _frames(quads.matrix, matrix)
    factor = scale[:, None] * flip
    return Quads(quads.body, quads.ring * factor[:, None, :2], frame, quads.vector * factor), even


def _frames(own: Floats, matrix: Floats) -> tuple[Floats, Floats, Floats, NDArray[np.bool_]]:
    """Scale (k,), mirroring (k, 3), frame (k, 4, 4), evenly scaled (k,): mirroring and scaling go into profile and vector, so
    that the frame stays a right-handed one."""
    frame = matrix @ own
    turn = frame[:, :3, :3].copy()
    scale = np.linalg.norm(turn[:, :, 0], axis=1)
    square = scale**2
    off = np.abs(turn.transpose(0, 2, 1) @ turn - np.eye(3) * square[:, None, None]).max(axis=(1, 2), initial=0.0)
    flip = np.ones((len(own), 3))
    flip[:, 1] = np.where(np.linalg.det(turn) > 0, 1.0, -1.0)
    frame[:, :3, :3] = turn / np.where(scale > 0, scale, 1.0)[:, None, None] * flip[:, None]
    return scale, flip, frame, off <= 1e-9 * np.maximum(square, 1e-30)
