"""Plain extrusions as the file states them, finished to prisms in one batch: profiles of one ring without arcs."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.bodies import Prism
from bimcheck.read.place import Placer, X, Z, matrices

Floats = NDArray[Any]  # of float64
STATED = (0.0, 0.0, 1.0, 0.0)  # profile placement: location and x direction


class Extrusions:
    """Collects extrusions in file units."""

    def __init__(self, placer: Placer) -> None:
        self._placer = placer
        self._rings: dict[int, Any] = {}  # number -> points
        self._sizes: dict[int, tuple[float, float]] = {}  # number -> sides of a rectangle
        self._at: list[tuple[float, ...]] = []  # profile placements
        self._axes: list[tuple[tuple[float, ...], ...]] = []
        self._along: list[tuple[float, ...]] = []
        self._depth: list[float] = []

    def add(self, item: Any) -> int | None:
        """Take an IfcExtrudedAreaSolid; its number here, or None where the profile is not plain."""
        profile = item.get_argument(0)
        kind = profile.is_a()
        number = len(self._at)
        if kind == "IfcRectangleProfileDef":
            self._sizes[number] = (profile.get_argument(3), profile.get_argument(4))
            self._at.append(self._profile_axes(profile.get_argument(2)))
        elif kind == "IfcArbitraryClosedProfileDef":
            points = _points(profile.get_argument(2))
            if points is None:
                return None
            self._rings[number] = points
            self._at.append(STATED)
        else:
            return None
        position = item.get_argument(1)
        self._axes.append(self._placer.axes3(position) if position is not None else ((0.0, 0.0, 0.0), Z, X))
        self._along.append(self._placer.directions.of(item.get_argument(2), Z))
        self._depth.append(item.get_argument(3))
        return number

    def _profile_axes(self, position: Any) -> tuple[float, ...]:
        if position is None:
            return STATED
        x = self._placer.directions.of(position.get_argument(1), (1.0, 0.0))
        return (*position.get_argument(0).get_argument(0)[:2], *x[:2])

    def prisms(self) -> list[Prism]:
        if not self._at:
            return []
        factor = self._placer.factor
        axes = np.array(self._axes, dtype=float)
        frames = matrices(axes[:, 0] * factor, axes[:, 1], axes[:, 2])
        along = np.array(self._along, dtype=float)
        length = np.linalg.norm(along, axis=1, keepdims=True)
        vectors = along / np.where(length > 0, length, 1.0) * (np.array(self._depth, dtype=float)[:, None] * factor)
        rings = self._all_rings()
        return [Prism([rings[i]], frames[i], vectors[i], False) for i in range(len(self._at))]

    def _all_rings(self) -> dict[int, Floats]:
        out: dict[int, Floats] = {}
        if self._sizes:
            rows = list(self._sizes)
            out.update(zip(rows, self._placed(rows, _rectangles(np.array(list(self._sizes.values()), dtype=float))), strict=True))
        by_count: dict[int, list[int]] = defaultdict(list)
        for number, points in self._rings.items():
            by_count[len(points)].append(number)
        for rows in by_count.values():
            rings = np.array([self._rings[i] for i in rows], dtype=float)[:, :, :2] * self._placer.factor
            closed = np.abs(rings[:, 0] - rings[:, -1]).max(axis=1) < 1e-6
            out.update((i, r[:-1] if c else r) for i, r, c in zip(rows, rings, closed.tolist(), strict=True))
        return out

    def _placed(self, rows: list[int], rings: Floats) -> Floats:
        at = np.array([self._at[i] for i in rows], dtype=float)
        x = at[:, 2:] / np.maximum(np.hypot(at[:, 2], at[:, 3]), 1e-300)[:, None]
        turn = np.stack([x, np.column_stack([-x[:, 1], x[:, 0]])], axis=1)
        return (np.einsum("nki,nij->nkj", rings, turn) + at[:, None, :2]) * self._placer.factor


def _rectangles(size: Floats) -> Floats:
    half = size / 2
    signs = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    return half[:, None, :] * signs


def _points(curve: Any) -> Any | None:
    """Points of a polyline or a straight indexed curve, in file units."""
    kind = curve.is_a()
    if kind == "IfcPolyline":
        return [p.get_argument(0) for p in curve.get_argument(0)]
    if kind == "IfcIndexedPolyCurve" and curve.get_argument(1) is None:
        return curve.get_argument(0).get_argument(0)
    return None
