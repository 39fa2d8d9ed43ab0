"""Bodies as plates: the fast ways for many at once first, the careful ones for what is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.bodies import Body, Prism, Shell
from bimcheck.read.collect import Bodies
from bimcheck.read.flat import read_shells
from bimcheck.read.found import DEGENERATE, EMPTY, NO_BODY, NO_PLATE, Found
from bimcheck.read.odd import read_odd
from bimcheck.read.prisms import read_prisms, read_quads, shell_of

Ints = NDArray[np.int64]


def read_bodies(bodies: Bodies, taper: float) -> Found:
    """One row an element; a body that nothing could read is degenerate."""
    found, quads = read_plates(bodies.body, taper), bodies.quads
    left = read_quads(quads.ring, quads.vector, quads.matrix, quads.body, found) if len(quads.body) else np.empty(0, int)
    _shells({int(quads.body[k]): shell_of(quads.prism(k)) for k in left.tolist()}, found, taper)
    return per_element(found, bodies.index)


def read_plates(bodies: Sequence[Body | None], taper: float) -> Found:
    """One row a body; None is degenerate."""
    found = Found(len(bodies))
    found.state[[i for i, b in enumerate(bodies) if b is None]] = DEGENERATE
    rows = np.array([i for i, b in enumerate(bodies) if isinstance(b, Prism)], dtype=np.int64)
    left = [int(rows[k]) for k in read_prisms([bodies[i] for i in rows], rows, found)] if len(rows) else []  # type: ignore[misc]
    shells = {i: shell_of(bodies[i]) for i in left}  # type: ignore[arg-type]
    _shells(shells | {i: b for i, b in enumerate(bodies) if isinstance(b, Shell)}, found, taper)
    return found


def _shells(shells: Mapping[int, Shell], found: Found, taper: float) -> None:
    order = np.array(sorted(shells), dtype=np.int64)
    for k in read_shells([shells[int(i)] for i in order], order, found, taper) if len(order) else []:
        _careful(shells[int(order[k])], int(order[k]), found, taper)


def _careful(shell: Shell, row: int, found: Found, taper: float) -> None:
    readings = read_odd(shell, taper)
    if not readings:
        found.state[row] = NO_PLATE
        return
    found.put_odd(row, readings[0])
    if len(readings) > 1 and readings[0].form != "flat":
        found.other[row] = readings[1]


def per_element(found: Found, index: Ints) -> Found:
    """One row an element instead of one a body; index -1: no body."""
    out = Found(len(index))
    at = np.maximum(index, 0)
    if found.n_rows:
        for name in ("state", "origin", "u", "v", "n", "thickness", "thickness_max", "sagitta", "form"):
            setattr(out, name, getattr(found, name)[at])
        out.outline = [found.outline[i] for i in at]
        out.back = [found.back[i] for i in at]
        out.other = {k: found.other[i] for k, i in enumerate(at.tolist()) if i in found.other and index[k] >= 0}
    for row in np.flatnonzero(index < 0).tolist():
        _blank(out, row, NO_BODY)
    return out


def _blank(found: Found, row: int, state: str) -> None:
    found.state[row], found.form[row] = state, ""
    for name in ("origin", "u", "v", "n", "thickness", "thickness_max"):
        getattr(found, name)[row] = np.nan
    found.outline[row] = found.back[row] = EMPTY


def replace(found: Found, row: int, other: Found, at: int) -> None:
    """Row `row` becomes row `at` of another."""
    for name in ("state", "origin", "u", "v", "n", "thickness", "thickness_max", "sagitta", "form"):
        getattr(found, name)[row] = getattr(other, name)[at]
    found.outline[row], found.back[row] = other.outline[at], other.back[at]
    found.other.pop(row, None)
    if at in other.other:
        found.other[row] = other.other[at]


def to_world(found: Found, matrices: Any) -> None:
    """Frames of all rows into world coordinates; matrices (n, 4, 4), rigid."""
    turn = matrices[:, :3, :3]
    found.origin = np.einsum("ijk,ik->ij", turn, found.origin) + matrices[:, :3, 3]
    for name in ("u", "v", "n"):
        setattr(found, name, np.einsum("ijk,ik->ij", turn, getattr(found, name)))
