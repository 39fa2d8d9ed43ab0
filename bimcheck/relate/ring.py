"""The plan ring: ends of wall stretches matched at corners, followed round the building."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.planes import Planes, Stretches

PARALLEL = np.sin(np.radians(5.0))
OVERSHOOT = 3.0  # a wall that runs past a corner counts this many times as far as one that stops short of it
JOG = 1200.0  # mm; parallel walls stepped by no more than this may follow one another


@dataclass(frozen=True)
class Chain:
    """Stretches in the order in which they are passed; forward: passed from a to b; closed: the last meets the first."""

    stretch: Ints
    forward: np.ndarray
    closed: bool

    def ends(self) -> tuple[Ints, Ints]:
        """Entry and exit end of every stretch (2i is a, 2i + 1 is b)."""
        first = 2 * self.stretch + np.where(self.forward, 0, 1)
        return first, first ^ 1


def trace(planes: Planes, parts: Stretches, reach: float, gap: float) -> list[Chain]:
    """Follow the stretches: nearest ends first, each end used once.

    reach: mm by which a wall may be extended to a corner.  gap: widest gap in one plane.
    """
    mate = _mates(planes, parts, reach, gap)
    seen = np.zeros(len(parts.plane), dtype=bool)
    found = []
    # Open chains are begun at their open end; what is left over are rings.
    starts = [e for e in range(len(mate)) if mate[e] < 0] + list(range(0, len(mate), 2))
    for end in starts:
        if not seen[end // 2]:
            found.append(_follow(end, mate, seen))
    return found


def _follow(end: int, mate: Ints, seen: np.ndarray) -> Chain:
    path, forward, first = [], [], end
    while end >= 0 and not seen[end // 2]:
        seen[end // 2] = True
        path.append(end // 2)
        forward.append(end % 2 == 0)
        end = int(mate[end ^ 1])
    return Chain(np.array(path), np.array(forward), end == first and len(path) > 2)


def _mates(planes: Planes, parts: Stretches, reach: float, gap: float) -> Ints:
    points = parts.ends(planes)
    mate = np.full(len(points), -1, dtype=np.int64)
    places = np.asarray(shapely.points(points), dtype=object).reshape(-1)
    i, j = shapely.STRtree(places).query(places, predicate="dwithin", distance=max(1.5 * reach, gap))
    i, j = (k[(i < j) & (i // 2 != j // 2)] for k in (i, j))
    cost, bent = _cost(planes, parts, points, i, j)
    good = np.flatnonzero(cost <= np.where(bent, reach, gap))
    # Equal costs are settled by place, so that the order of rows does not matter.
    for k in good[np.lexsort((j[good], i[good], np.round(cost[good], 3)))]:
        if mate[i[k]] < 0 and mate[j[k]] < 0:
            mate[i[k]], mate[j[k]] = j[k], i[k]
    return mate


def _cost(planes: Planes, parts: Stretches, points: Floats, i: Ints, j: Ints) -> tuple[Floats, np.ndarray]:
    """How far two ends are from meeting, mm: at a corner (True), or across a gap of one plane or over a step (False)."""
    plane = np.repeat(parts.plane, 2)
    away = planes.along[plane] * np.where(np.arange(len(plane)) % 2, 1.0, -1.0)[:, None]
    between = points[j] - points[i]
    cross = away[i, 0] * away[j, 1] - away[i, 1] * away[j, 0]
    facing = np.einsum("ij,ij->i", away[i], away[j]) < 0
    with np.errstate(divide="ignore", invalid="ignore"):
        to_i = (between[:, 0] * away[j, 1] - between[:, 1] * away[j, 0]) / cross
        to_j = (between[:, 0] * away[i, 1] - between[:, 1] * away[i, 0]) / cross
    corner = np.maximum(_run(to_i), _run(to_j))
    length = np.linalg.norm(between, axis=1)
    onward = np.einsum("ij,ij->i", between, away[i])
    straight = np.where(facing & (onward > 0), length, np.inf)
    sideways = np.abs(between[:, 0] * away[i, 1] - between[:, 1] * away[i, 0])
    step = np.where(facing & (sideways <= JOG) & (np.abs(onward) <= JOG), 1.5 * length + 300.0, np.inf)
    bent = np.abs(cross) > PARALLEL
    return np.where(bent, corner, np.where((plane[i] == plane[j]) | (length < 100.0), straight, step)), bent


def _run(extension: Floats) -> Floats:
    return np.where(extension >= 0, extension, -OVERSHOOT * extension)
