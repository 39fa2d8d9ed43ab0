"""World places and names that finders put on their issues."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table

_NUMBERED = re.compile(r"[^\s\-_.:#/]*\d[^\s\-_.:#/]*")
_APART = re.compile(r"([\s\-_.:#/])[\s\-_.:#/]+")
SHORTEST = 3  # letters of a name that tells something

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def world(elements: Table, rows: Ints, x: Floats, y: Floats, back: Floats | float = 0.0) -> Floats:
    """(k, 3) world points at x, y of the panels' frames, `back` mm behind the front face."""
    z = np.broadcast_to(np.asarray(back, dtype=float), x.shape)
    return (elements["origin"][rows] + x[:, None] * elements["u"][rows] + y[:, None] * elements["v"][rows]
            - z[:, None] * elements["n"][rows])


def local(elements: Table, rows: Ints, points: Floats) -> Floats:
    """(k, 3) x, y and depth behind the rear face of world points (k, 3) in the panels' frames."""
    away = points - elements["origin"][rows]
    x, y, out = (np.einsum("ki,ki->k", away, elements[a][rows]) for a in ("u", "v", "n"))
    return np.column_stack([x, y, -out - elements["thickness"][rows]])


def between(elements: Table, a: Ints, b: Ints) -> Floats:
    """(k, 3) world middle of the joint (or of the overlap) of the bounding rectangles of a and b, in a's plane."""
    w, h = elements["width"][b], elements["height"][b]
    zero = np.zeros_like(w)
    corners = [local(elements, a, world(elements, b, p, q)) for p, q in ((zero, zero), (w, zero), (zero, h), (w, h))]
    low, high = np.min(corners, axis=0), np.max(corners, axis=0)
    x = (np.maximum(low[:, 0], 0.0) + np.minimum(high[:, 0], elements["width"][a])) / 2
    y = (np.maximum(low[:, 1], 0.0) + np.minimum(high[:, 1], elements["height"][a])) / 2
    return world(elements, a, x, y)


def kind(name: Any, ifc_class: Any) -> str:
    """What bodies of one make have in common: the name without its parts that hold digits, else the class."""
    text = _APART.sub(r"\1", _NUMBERED.sub("", str(name or ""))).strip(" -_.:#/")
    return text if len(text) >= SHORTEST else str(ifc_class or text or "body")


def column(table: Table, name: str, default: Any = "") -> NDArray[Any]:
    """The column, or a constant where the table lacks it."""
    return table[name] if name in table else np.full(table.n, default, dtype=object)
