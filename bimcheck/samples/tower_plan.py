"""Dimensions of a tower: columns and rows of panels with as many unique sizes as asked; all lengths in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random

JOINT = 8.0
RETURN = 38.0  # where a facade starts behind the edge of its neighbour: greatest thickness and a joint
ROWS = 5  # panel rows a storey
MOST_STOREYS = 48  # stays below the 200 m that wind standards cover
WIDTHS, HEIGHTS = (900.0, 1500.0), (600.0, 895.0)  # apart, so that no size is another one turned
MATERIALS = {"Porcelain stoneware": 12.0, "Granite, flamed": 30.0, "Fibre cement board": 16.0}
CLASSES = (("IfcPlate", 0.7), ("IfcCovering", 0.9), ("IfcBuildingElementProxy", 1.0))  # cumulated shares


@dataclass(frozen=True)
class Face:
    """One side of the tower: plan origin at the left end seen from outside, outward normal, horizontal, columns."""

    name: str
    origin: tuple[float, float]
    n: tuple[float, float]
    u: tuple[float, float]
    starts: list[float]
    widths: list[float]
    materials: list[str]

    def at(self, u: float, depth: float) -> tuple[float, float]:
        """Plan coordinates of the point u along the face and `depth` behind its front."""
        return (self.origin[0] + self.u[0] * u - self.n[0] * depth, self.origin[1] + self.u[1] * u - self.n[1] * depth)


@dataclass(frozen=True)
class Tower:
    """storeys: elevation and rows (y above it, height); classes: by face and storey; surplus: cells left out below."""

    faces: list[Face]
    storeys: list[tuple[float, list[tuple[float, float]]]]
    classes: list[list[str]]
    plan: tuple[float, float]
    surplus: int


def tower(panels: int, unique_shapes: int, seed: int) -> Tower:
    """A rectangular tower of exactly `panels` panels (at least 40) with about `unique_shapes` sizes, where that many fit."""
    random = Random(seed)
    floors = _floors(panels)
    pairs = _pairs(panels, floors)
    long = math.ceil(0.55 * pairs)
    n_widths = min(pairs, 400, max(1, math.ceil(math.sqrt(unique_shapes))))
    n_heights = min(floors * ROWS, 400, max(1, round(unique_shapes / n_widths)))
    widths = _drawn(random, WIDTHS, n_widths, pairs)
    heights = _drawn(random, HEIGHTS, n_heights, floors * ROWS)
    storeys = _storeys(heights)
    faces, plan = _faces(random, widths[:long], widths[long:])
    classes = [[_class(random.random()) for _ in storeys] for _ in faces]
    return Tower(faces, storeys, classes, plan, 2 * pairs * floors * ROWS - panels)


def _floors(panels: int) -> int:
    """Storeys of a slender tower; of the numbers near that, the one that leaves the fewest cells over."""
    ideal = min(MOST_STOREYS, max(2, round(0.283 * math.sqrt(panels))))
    near = range(max(1, ideal - 1 - ideal // 6), min(MOST_STOREYS, ideal + ideal // 6) + 1)
    return min(near, key=lambda k: (2 * k * ROWS * _pairs(panels, k) - panels, abs(k - ideal)))


def _pairs(panels: int, floors: int) -> int:
    """Columns of one long and one short side."""
    return max(4, math.ceil(panels / (2 * floors * ROWS)))


def _drawn(random: Random, limits: tuple[float, float], kinds: int, count: int) -> list[float]:
    """`count` sizes in a random order, each of `kinds` at least once, in steps of 0.5 mm."""
    low, high = limits
    sizes = [round(2 * (low + (high - low) * k / max(1, kinds - 1))) / 2 for k in range(kinds)]
    drawn = sizes + [sizes[int(random.random() * kinds)] for _ in range(count - kinds)]
    return _shuffled(random, drawn)


def _shuffled(random: Random, items: list[float]) -> list[float]:
    return [item for _, item in sorted((random.random(), item) for item in items)]


def _class(draw: float) -> str:
    return next(cls for cls, share in CLASSES if draw < share)


def _storeys(heights: list[float]) -> list[tuple[float, list[tuple[float, float]]]]:
    found, elevation = [], 0.0
    for k in range(0, len(heights), ROWS):
        rows, y = [], 0.0
        for height in heights[k : k + ROWS]:
            rows.append((y, height))
            y += height + JOINT
        found.append((elevation, rows))
        elevation += y
    return found


def _faces(random: Random, long: list[float], short: list[float]) -> tuple[list[Face], tuple[float, float]]:
    """Four sides; opposite ones have the same columns in another order."""
    w = sum(long) + JOINT * (len(long) - 1)
    d = sum(short) + JOINT * (len(short) - 1) + 2 * RETURN
    sides = (("F1", (0.0, 0.0), (0.0, -1.0), (1.0, 0.0), long), ("F2", (w, RETURN), (1.0, 0.0), (0.0, 1.0), short),
             ("F3", (w, d), (0.0, 1.0), (-1.0, 0.0), long), ("F4", (0.0, d - RETURN), (-1.0, 0.0), (0.0, -1.0), short))
    faces = []
    for name, origin, n, u, columns in sides:
        widths = _shuffled(random, columns)
        starts = [sum(widths[:k]) + JOINT * k for k in range(len(widths))]
        faces.append(Face(name, origin, n, u, starts, widths, _materials(len(widths))))
    return faces, (w, d)


def _materials(columns: int) -> list[str]:
    """Granite at the corners, a band of fibre cement in the middle, porcelain between."""
    porcelain, granite, cement = MATERIALS
    corner, middle = max(1, columns // 8), columns // 2
    band = range(middle - columns // 10, middle + columns // 10 + 1) if columns >= 6 else range(0)
    return [granite if k < corner or k >= columns - corner else cement if k in band else porcelain for k in range(columns)]
