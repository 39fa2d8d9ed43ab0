"""Placements: axis placements as matrices, parents cached, the elements' own in one batch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ifcopenshell.util.placement
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Z, X = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)


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
            ratios = entity[0]
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

    def matrix(self, placement: Any) -> Floats:
        """(4, 4) of one axis placement, mm."""
        location, z, x = self.axes(placement)
        return matrices(np.array([location]) * self.factor, np.array([z]), np.array([x]))[0]

    def world(self, placement: Any) -> Floats:
        """(4, 4) of an IfcObjectPlacement in world coordinates; chains are followed without recursion."""
        chain = []
        while placement is not None and placement.id() not in self._world:
            chain.append(placement)
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
        n = len(placements)
        parent = np.zeros(n, dtype=np.int64)
        rows: dict[int, int] = {0: 0}
        bases = [np.eye(4)]
        own = np.zeros((n, 3, 3))
        own[:, 1], own[:, 2] = Z, X
        for i, placement in enumerate(placements):
            if placement is None:
                continue
            local = placement.is_a() == "IfcLocalPlacement"
            above = placement[0] if local else placement
            if above is not None:
                key = above.id()
                if key not in rows:
                    rows[key] = len(bases)
                    bases.append(self.world(above))
                parent[i] = rows[key]
            if local:
                own[i] = self.axes(placement[1])
        return np.array(bases)[parent] @ matrices(own[:, 0] * self.factor, own[:, 1], own[:, 2])
