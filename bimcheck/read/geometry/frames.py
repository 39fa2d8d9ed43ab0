"""Axis placements as columns: read one after the other, made matrices in one batch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.geometry.raw import get
from bimcheck.read.place import Placer, X, Z, matrices

Floats = NDArray[np.float64]
Triple = tuple[float, ...]
ZERO = (0.0, 0.0, 0.0)


class Directions:
    """Direction ratios by entity number: they are shared by thousands of placements."""

    def __init__(self) -> None:
        self._seen: dict[int, Triple] = {}

    def of(self, entity: Any, default: Triple) -> Triple:
        """Three ratios; `default` where the direction is left out."""
        if entity is None:
            return default
        number = entity.id()
        found = self._seen.get(number)
        if found is None:
            found = self._seen[number] = (*get(entity, 0), 0.0)[:3]
        return found


class Frames:
    """IfcAxis2Placement3D, one a row."""

    def __init__(self, directions: Directions) -> None:
        self.directions = directions
        self.rows: list[tuple[Triple, Triple, Triple]] = []

    def add(self, placement: Any) -> None:
        """The next row; None stands for the identity."""
        if placement is None:
            self.rows.append((ZERO, Z, X))
            return
        of = self.directions.of
        location = get(get(placement, 0), 0)
        self.rows.append((location if len(location) == 3 else (*location, 0.0, 0.0)[:3], of(get(placement, 1), Z),
                          of(get(placement, 2), X)))

    def matrices(self, factor: float) -> Floats:
        """(n, 4, 4), translations times `factor`."""
        own = np.array(self.rows, dtype=float).reshape(-1, 3, 3)
        return matrices(own[:, 0] * factor, own[:, 1], own[:, 2])


def world(placer: Placer, elements: Sequence[Any]) -> Floats:
    """(n, 4, 4) world matrices of elements, mm: parents once each, the elements' own placements in one batch."""
    own = Frames(Directions())
    bases, rows = [np.eye(4)], {0: 0}
    parent = np.zeros(len(elements), dtype=np.int64)
    for i, element in enumerate(elements):
        above = get(element, 5)
        local = above is not None and above.is_a() == "IfcLocalPlacement" and get(above, 1).is_a() == "IfcAxis2Placement3D"
        own.add(get(above, 1) if local else None)
        if local:
            above = get(above, 0)
        if above is None:
            continue
        number = above.id()
        if number not in rows:
            rows[number] = len(bases)
            bases.append(placer.world(above))
        parent[i] = rows[number]
    return np.array(bases)[parent] @ own.matrices(placer.factor)
