"""Placements: axis placements as matrices, parents cached, the elements' own in one batch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ifcopenshell.util.placement
import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError

Floats = NDArray[Any]  # of float64
Z, X = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
HERE = ((0.0, 0.0, 0.0), Z, X)
DEEPEST = 200  # placements in a chain; a longer one turns in a circle


class Directions:
    """Direction ratios and points by entity number, each read once."""

    def __init__(self) -> None:
        self._seen: dict[int, tuple[float, ...]] = {}

    def of(self, entity: Any, default: tuple[float, ...]) -> tuple[float, ...]:
        if entity is None:
            return default
        key = entity.id()
        found = self._seen.get(key)
        if found is None:
            ratios = entity.get_argument(0)
            found = self._seen[key] = tuple(ratios) if len(ratios) == len(default) else (*ratios, 0.0)
        return found


def matrices(location: Floats, axis: Floats, ref: Floats) -> Floats:
    """(n, 4, 4) of IfcAxis2Placement3D: z along `axis`, x the part of `ref` square to it (IFC: IfcBuildAxes)."""
    z = _unit(axis, np.array(Z))
    x = ref - np.sum(ref * z, axis=1, keepdims=True) * z
    flat = np.linalg.norm(x, axis=1) < 1e-9
    if flat.any():
        other = np.where(np.abs(z[:, :1]) > 0.9, [[0.0, 1.0, 0.0]], [[1.0, 0.0, 0.0]])
        x = np.where(flat[:, None], other - np.sum(other * z, axis=1, keepdims=True) * z, x)
    x = _unit(x, np.array(X))
    out = np.zeros((len(location), 4, 4))
    out[:, :3, 0], out[:, :3, 1], out[:, :3, 2], out[:, :3, 3] = x, np.cross(z, x), z, location
    out[:, 3, 3] = 1.0
    return out


def _unit(v: Floats, fallback: Floats) -> Floats:
    length = np.linalg.norm(v, axis=1, keepdims=True)
    return np.where(length > 1e-12, v / np.where(length > 1e-12, length, 1.0), fallback)


def _step(placement: Any) -> tuple[Any, Any]:
    """What a placement is relative to, and its own step; of other than local placements the whole counts as the former."""
    if placement is None or placement.is_a() != "IfcLocalPlacement":
        return placement, None
    return placement.get_argument(0), placement.get_argument(1)


class Placer:
    """World matrices of one file, translations in mm."""

    def __init__(self, factor: float) -> None:
        self.factor = factor
        self.directions = Directions()
        self._world: dict[int, Floats] = {}

    def axes(self, placement: Any) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        """Location (file units), axis and reference direction of an axis placement."""
        location, z, x = tuple(placement[0][0]), Z, X
        if placement.is_a("IfcAxis2Placement3D"):
            z, x = self.directions.of(placement[1], Z), self.directions.of(placement[2], X)
        elif placement.is_a("IfcAxis2Placement2D"):
            x = self.directions.of(placement[1], X)
        return (*location, 0.0)[:3], z, x  # type: ignore[return-value]

    def axes3(self, placement: Any) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        """The same of what is known to be an IfcAxis2Placement3D, without asking."""
        location = placement.get_argument(0).get_argument(0)
        return location, self.directions.of(placement.get_argument(1), Z), self.directions.of(placement.get_argument(2), X)

    def matrix(self, placement: Any) -> Floats:
        """(4, 4) of one axis placement, mm."""
        location, z, x = self.axes(placement)
        return matrices(np.array([location]) * self.factor, np.array([z]), np.array([x]))[0]

    def world(self, placement: Any) -> Floats:
        """(4, 4) of an IfcObjectPlacement in world coordinates; chains are followed without recursion."""
        chain = []
        while placement is not None and placement.id() not in self._world:
            chain.append(placement)
            if len(chain) > DEEPEST:
                raise InputError(f"placement #{placement.id()} refers to itself", "", "export the model again")
            placement = placement[0] if placement.is_a("IfcLocalPlacement") else None
        base = self._world[placement.id()] if placement is not None else np.eye(4)
        for link in reversed(chain):
            base = base @ self._own(link)
            self._world[link.id()] = base
        return base

    def _own(self, placement: Any) -> Floats:
        if placement.is_a("IfcLocalPlacement"):
            return self.matrix(placement[1])
        found = np.array(ifcopenshell.util.placement.get_local_placement(placement), dtype=float)
        found[:3, 3] *= self.factor
        return found

    def many(self, placements: Sequence[Any]) -> Floats:
        """(n, 4, 4): the parents one by one (they are shared), the last step in one batch."""
        rows: dict[int, int] = {}
        bases = [np.eye(4)]
        parent, own = [], []
        for placement in placements:
            above, step = _step(placement)
            parent.append(0 if above is None else self._row(above, rows, bases))
            own.append(HERE if step is None else self._last(step))
        steps = np.array(own, dtype=float).reshape(-1, 3, 3)
        return np.array(bases)[np.array(parent, dtype=np.int64)] @ matrices(steps[:, 0] * self.factor, steps[:, 1], steps[:, 2])

    def _last(self, axes: Any) -> tuple[tuple[float, ...], ...]:
        return self.axes3(axes) if axes.is_a() == "IfcAxis2Placement3D" else self.axes(axes)

    def _row(self, placement: Any, rows: dict[int, int], bases: list[Floats]) -> int:
        key = placement.id()
        row = rows.get(key)
        if row is None:
            row = rows[key] = len(bases)
            bases.append(self.world(placement))
        return row
