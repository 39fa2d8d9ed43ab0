"""From elements to unique bodies: what is shared is read once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read import kernel
from bimcheck.read.bodies import Body, Prism, Shell, body_of, items_of, read_item
from bimcheck.read.extrusions import Extrusions
from bimcheck.read.place import Placer
from bimcheck.read.prisms import shell_of
from bimcheck.read.profiles import Unread

Floats = NDArray[Any]  # of float64


@dataclass
class Bodies:
    """body: unique bodies, None where nothing could be read; index: (n,) body of each element, -1 without one."""

    body: list[Body | None] = field(default_factory=list)
    index: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))


def collect(file: Any, placer: Placer, elements: Sequence[Any]) -> Bodies:
    """Unique bodies of the elements: plain extrusions in one batch, others one by one, the kernel for what is left."""
    rows: dict[Any, int] = {}
    bodies: list[Body | None] = []
    index = np.full(len(elements), -1, dtype=np.int64)
    asked: dict[int, int] = {}  # element number -> body that the kernel is asked for
    plain = Extrusions(placer)
    later: list[tuple[int, int, Floats | None]] = []  # body, number among the plain extrusions, matrix of its map
    for i, element in enumerate(elements):
        representation = body_of(element)
        if representation is None:
            continue
        key, items = _key(representation)
        row = rows.get(key)
        if row is None:
            row = rows[key] = len(bodies)
            bodies.append(None)
            try:
                if (number := _plain(items, plain)) is not None:
                    later.append((row, number, None))
                else:
                    bodies[row] = _merged(representation, placer, plain, later, row)
            except Unread:
                asked[element.id()] = row
            except (TypeError, ValueError, IndexError, AttributeError):
                pass  # values that the schema does not allow: the body stays unread
        index[i] = row
    prisms = plain.prisms()
    for row, number, matrix in later:
        bodies[row] = _moved(prisms[number], matrix)
    if asked:
        meshed = kernel.shells(file, placer.factor, [file.by_id(i) for i in asked], openings=False)
        for number, row in asked.items():
            bodies[row] = meshed.get(number)
    return Bodies(bodies, index)


def _plain(items: Sequence[Any], plain: Extrusions) -> int | None:
    return plain.add(items[0]) if len(items) == 1 and items[0].is_a() == "IfcExtrudedAreaSolid" else None


def _key(representation: Any) -> tuple[Any, Sequence[Any]]:
    """The same for elements whose bodies are the same in their own frames; and the items."""
    items = representation.get_argument(3)
    if len(items) == 1 and items[0].is_a() == "IfcMappedItem":
        source, target = items[0].get_argument(0), items[0].get_argument(1)
        return (source.id(), *(_value(target.get_argument(k)) for k in range(len(target)))), items
    return representation.id(), items


def _value(attribute: Any) -> Any:
    return attribute.get_argument(0) if hasattr(attribute, "is_a") else attribute


def _merged(representation: Any, placer: Placer, plain: Extrusions, later: list[tuple[int, int, Floats | None]], row: int) -> Body | None:
    """The one body of a representation; a single mapped plain extrusion joins the batch and is None for now."""
    listed = list(items_of(representation, placer))
    if len(listed) == 1 and (number := _plain([listed[0][0]], plain)) is not None:
        later.append((row, number, listed[0][1]))
        return None
    read = [_moved(read_item(item, placer), matrix) for item, matrix in listed]
    if len(read) == 1:
        return read[0]
    return joined(b if isinstance(b, Shell) else shell_of(b) for b in read) if read else None


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


def _moved(body: Body, matrix: Floats | None) -> Body:
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
