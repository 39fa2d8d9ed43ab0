"""Placements: axis placements as matrices, parents cached, the elements' own in one batch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import ifcopenshell.util.placement
import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.steptext import Step
from bimcheck.read.source import Source

Floats = NDArray[Any]  # of float64
Z, X = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
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


@dataclass(frozen=True)
class Axes:
    """Axis placements, in file units: location, axis, ref (n, 3); ok: (n,) read from the text (False: ask the file)."""

    location: Floats
    axis: Floats
    ref: Floats
    ok: NDArray[np.bool_]


def points(step: Step, numbers: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """(n, 3) coordinates of IfcCartesianPoints, file units (z of plane ones 0), and which are such points."""
    found, ok = step.columns(numbers, "IFCCARTESIANPOINT", 3)
    found[:, 2] = np.where(np.isnan(found[:, 2]), 0.0, found[:, 2])
    return found, ok & np.isfinite(found).all(axis=1)


def directions(step: Step, numbers: Floats, default: tuple[float, ...]) -> tuple[Floats, NDArray[np.bool_]]:
    """(n, k) ratios of IfcDirections, the default where there is none, and which could be read."""
    absent = np.isnan(numbers)
    found, ok = step.columns(numbers, "IFCDIRECTION", 3)
    found = np.where(np.isnan(found), 0.0, found)[:, : len(default)]
    return np.where(absent[:, None], default, found), ok | absent


def axes_of(step: Step, numbers: Floats) -> Axes:
    """Of IfcAxis2Placement3D by number; nan: where the frame is."""
    absent = np.isnan(numbers)
    found, ok = step.columns(numbers, "IFCAXIS2PLACEMENT3D", 3)
    location, known = points(step, found[:, 0])
    axis, one = directions(step, found[:, 1], Z)
    ref, other = directions(step, found[:, 2], X)
    return Axes(np.where(absent[:, None], 0.0, location), axis, ref, absent | (ok & known & one & other))


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

    def many(self, source: Source, numbers: NDArray[np.int64]) -> Floats:
        """(n, 4, 4) world matrices of object placements by number, 0 for none: parents one by one, the last step at once."""
        step = source.step
        found, ok = step.columns(numbers, "IFCLOCALPLACEMENT", 2)
        own = axes_of(step, found[:, 1])
        parents, back = np.unique(np.nan_to_num(found[:, 0]).astype(np.int64), return_inverse=True)
        bases = np.array([self._of(source, n) for n in parents.tolist()]).reshape(-1, 4, 4)
        out = bases[back] @ matrices(own.location * self.factor, own.axis, own.ref)
        for i in np.flatnonzero(~(ok & own.ok & np.isfinite(found[:, 1]))).tolist():
            out[i] = self._of(source, int(numbers[i]))
        return out

    def _of(self, source: Source, number: int) -> Floats:
        return self.world(source.file.by_id(number)) if number else np.eye(4)
