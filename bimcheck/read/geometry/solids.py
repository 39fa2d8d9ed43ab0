"""Extrusions of rectangles and polygons: read as columns, made prisms in one batch."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.bodies import Prism
from bimcheck.read.geometry.frames import Directions, Frames
from bimcheck.read.geometry.raw import get, kind
from bimcheck.read.place import X, Z

Floats = NDArray[np.float64]
UNIT = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])


class Solids:
    """Extruded solids on their way to prisms; `body` says which body each becomes."""

    def __init__(self, directions: Directions) -> None:
        self.directions = directions
        self.frames = Frames(directions)
        self.body: list[int] = []
        self.along: list[tuple[float, ...]] = []  # direction and depth
        self.maps: list[Floats | None] = []
        self.sides: list[tuple[float, ...]] = []  # x, y, place and turn of a rectangle; zeros for a polygon
        self.polygons: dict[int, list[tuple[float, ...]]] = {}

    def add(self, body: int, solid: Any, matrix: Floats | None) -> bool:
        """False where the profile needs a closer look.  matrix: from the solid's into the body's frame, rigid."""
        profile = get(solid, 0)
        name = kind(profile)
        if name == "IfcRectangleProfileDef":
            sides = self._rectangle(profile)
        elif name == "IfcArbitraryClosedProfileDef" and kind(get(profile, 2)) == "IfcPolyline":
            self.polygons[len(self.body)] = [get(p, 0) for p in get(get(profile, 2), 0)]
            sides = (0.0,) * 6
        else:
            return False
        self.body.append(body)
        self.sides.append(sides)
        self.frames.add(get(solid, 1))
        self.along.append((*self.directions.of(get(solid, 2), Z), get(solid, 3)))
        self.maps.append(matrix)
        return True

    def _rectangle(self, profile: Any) -> tuple[float, ...]:
        position = get(profile, 2)
        at, turn = (0.0, 0.0), X
        if position is not None:
            at, turn = get(get(position, 0), 0), self.directions.of(get(position, 1), X)
        return get(profile, 3), get(profile, 4), at[0], at[1], turn[0], turn[1]

    def prisms(self, factor: float) -> list[Prism]:
        """In the order of `body`, mm."""
        if not self.body:
            return []
        frame = self._frames(factor)
        along = np.array(self.along, dtype=float)
        length = np.linalg.norm(along[:, :3], axis=1, keepdims=True)
        vector = along[:, :3] / np.where(length > 0, length, 1.0) * along[:, 3:] * factor
        rings = list(self._rectangles() * factor)
        for row, points in self.polygons.items():
            rings[row] = _ring(points) * factor
        return [Prism([r], m, v, False) for r, m, v in zip(rings, frame, vector, strict=True)]

    def _frames(self, factor: float) -> Floats:
        frame = self.frames.matrices(factor)
        moved = [i for i, m in enumerate(self.maps) if m is not None]
        if moved:
            frame[moved] = np.array([self.maps[i] for i in moved]) @ frame[moved]
        return frame

    def _rectangles(self) -> Floats:
        """(n, 4, 2) corners in file units."""
        x, y, px, py, c, s = np.array(self.sides, dtype=float).T
        length = np.hypot(c, s)
        c, s = (np.where(length > 0, k / np.where(length > 0, length, 1.0), d) for k, d in ((c, 1.0), (s, 0.0)))
        a, b = UNIT[:, 0] * x[:, None], UNIT[:, 1] * y[:, None]
        return np.stack([a * c[:, None] - b * s[:, None] + px[:, None], a * s[:, None] + b * c[:, None] + py[:, None]], axis=2)


def _ring(points: list[tuple[float, ...]]) -> Floats:
    ring = np.array([p[:2] for p in points], dtype=float).reshape(-1, 2)
    closed = len(ring) > 1 and np.allclose(ring[0], ring[-1], rtol=0.0, atol=1e-9 * (1.0 + np.abs(ring[0]).max()))
    return ring[:-1] if closed else ring
