"""Sides of a rectangular-cornered plan, passed counter-clockwise; all lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True)
class Side:
    """A side: plan origin at its left end seen from outside, outward normal, horizontal, length, kind of its ends."""

    name: str
    origin: Point
    n: Point
    u: Point
    length: float
    starts_external: bool = True
    ends_external: bool = True

    def at(self, u: float, depth: float) -> Point:
        """Plan coordinates of the point u along the side and `depth` behind its front."""
        return (self.origin[0] + self.u[0] * u - self.n[0] * depth, self.origin[1] + self.u[1] * u - self.n[1] * depth)


def sides_of(corners: Sequence[Point]) -> list[Side]:
    """F1, F2, ... along the corners."""
    ahead = [_unit(p, corners[(k + 1) % len(corners)]) for k, p in enumerate(corners)]
    turns = [a[0][0] * b[0][1] - a[0][1] * b[0][0] > 0 for a, b in zip([ahead[-1], *ahead[:-1]], ahead, strict=True)]
    return [Side(f"F{k + 1}", corners[k], (u[1] + 0.0, 0.0 - u[0]), u, length, turns[k], turns[(k + 1) % len(corners)])
            for k, (u, length) in enumerate(ahead)]


def _unit(p: Point, q: Point) -> tuple[Point, float]:
    dx, dy = q[0] - p[0], q[1] - p[1]
    length = abs(dx) + abs(dy)  # sides run along x or y
    return (dx / length + 0.0, dy / length + 0.0), length


def inset(sides: Sequence[Side], depth: float) -> list[Point]:
    """Corners of the plan moved inward by `depth`."""
    before = [sides[-1], *sides[:-1]]
    return [(s.origin[0] - depth * (s.n[0] + b.n[0]), s.origin[1] - depth * (s.n[1] + b.n[1])) for s, b in zip(sides, before, strict=True)]


def wall_ends(side: Side, depth: float, thickness: float) -> tuple[float, float]:
    """From where to where a wall of that depth and thickness runs, so that walls meet at corners and never overlap."""
    start = depth + thickness if side.starts_external else -depth
    end = depth if side.ends_external else -depth - thickness
    return start, side.length - end
