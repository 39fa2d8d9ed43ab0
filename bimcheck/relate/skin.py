"""The skin of the building: chains of wall stretches turned so that their outward side is known, cut into facades."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.planes import Planes, Stretches
from bimcheck.relate.ring import PARALLEL, Chain

OUTER, RECESS, COURTYARD, OPEN = "outer", "recess", "courtyard", "open"


@dataclass(frozen=True)
class Turned:
    """A chain passed with the outward side on its right hand.

    kind: outer or courtyard for rings, open for others.  known: the side follows from the plan.
    """

    chain: Chain
    kind: str
    known: bool


def corners(planes: Planes, parts: Stretches, chain: Chain) -> Floats:
    """(k, 2) points of the chain in plan; a corner where the walls of neighbours meet, else both their ends."""
    points = parts.ends(planes)
    enter, leave = chain.ends()
    plane = parts.plane[chain.stretch]
    found = [] if chain.closed else [points[enter[0]]]
    last = len(enter) if chain.closed else len(enter) - 1
    for k in range(last):
        m = (k + 1) % len(enter)
        met = meet(planes.normal[plane[k]], float(planes.offset[plane[k]]),
                   planes.normal[plane[m]], float(planes.offset[plane[m]]))
        found += [points[leave[k]], points[enter[m]]] if met is None else [met]
    return np.array(found if chain.closed else [*found, points[leave[-1]]])


def meet(n1: Floats, d1: float, n2: Floats, d2: float) -> Floats | None:
    """Where two lines n . p = d meet; None where they are nearly parallel."""
    det = n1[0] * n2[1] - n1[1] * n2[0]
    if abs(det) < PARALLEL:
        return None
    return np.array([(d1 * n2[1] - d2 * n1[1]) / det, (n1[0] * d2 - n2[0] * d1) / det])


def area(points: Floats) -> float:
    x, y = (points - points[0]).T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)


def reverse(chain: Chain) -> Chain:
    return Chain(chain.stretch[::-1], ~chain.forward[::-1], chain.closed)


def turn(planes: Planes, parts: Stretches, found: list[Chain]) -> list[Turned]:
    """Turn every chain; rings first, open chains of two walls and more by the bend they make."""
    outlines = [corners(planes, parts, c) for c in found]
    chains = [_broken(c, p) for c, p in zip(found, outlines, strict=True)]
    voids = _voids(parts, chains, outlines)
    return [_turned(c, p, void) for c, p, void in zip(chains, outlines, voids, strict=True)]


def _broken(chain: Chain, points: Floats) -> Chain:
    """A ring that crosses itself is no ring."""
    return replace(chain, closed=chain.closed and shapely.Polygon(points).is_valid)


def _turned(chain: Chain, points: Floats, void: bool) -> Turned:
    size = area(points)
    if chain.closed:
        return Turned(chain if (size > 0) != void else reverse(chain), COURTYARD if void else OUTER, True)
    # The bend of an open chain says where the building is only if it encloses something.
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    bent = len(points) > 2 and abs(size) > 0.01 * length**2
    return Turned(chain if size >= 0 else reverse(chain), OPEN, bent)


def _voids(parts: Stretches, chains: list[Chain], outlines: list[Floats]) -> list[bool]:
    """Rings that lie inside another ring of the same height are courtyards."""
    solid = [shapely.Polygon(p) if c.closed else None for c, p in zip(chains, outlines, strict=True)]
    return [c.closed and _depth(k, parts, chains, solid) % 2 == 1 for k, c in enumerate(chains)]


def _depth(k: int, parts: Stretches, chains: list[Chain], solid: list[shapely.Polygon | None]) -> int:
    inner = solid[k]
    assert inner is not None
    point = inner.representative_point()
    z0, z1 = _heights(parts, chains[k])
    depth = 0
    for m, outer in enumerate(solid):
        if m == k or outer is None or outer.area <= inner.area or not outer.contains(point):
            continue
        low, high = _heights(parts, chains[m])
        depth += min(z1, high) - max(z0, low) > 0.5 * (z1 - z0)
    return depth


def _heights(parts: Stretches, chain: Chain) -> tuple[float, float]:
    return float(parts.z0[chain.stretch].min()), float(parts.z1[chain.stretch].max())


@dataclass(frozen=True)
class Facades:
    """One row a facade: plane, sign of outward on the plane's normal, chain and its kind, whether the side is known;
    stretch: facade of every stretch (-1 none); before, after: facade beyond the left and the right end (-1 none)."""

    plane: Ints
    sign: Floats
    chain: Ints
    kind: np.ndarray
    known: np.ndarray
    stretch: Ints
    before: Ints
    after: Ints


def cut(parts: Stretches, turned: list[Turned]) -> Facades:
    """Facades in the order in which they are passed: neighbouring stretches of one plane are one facade."""
    plane, sign, owner, before, after = [], [], [], [], []
    label = np.full(len(parts.plane), -1)
    for number, t in enumerate(turned):
        runs = _runs(parts.plane[t.chain.stretch], t.chain.closed)
        first = len(plane)
        for k, run in enumerate(runs):
            plane.append(parts.plane[t.chain.stretch[run[0]]])
            # Passed along +t the right hand is the plane's own normal: along = z x normal.
            sign.append(1.0 if t.chain.forward[run[0]] else -1.0)
            label[t.chain.stretch[run]] = first + k
        count = len(runs)
        owner += [number] * count
        around = t.chain.closed and count > 1
        before += [first + (k - 1) % count if around or k else -1 for k in range(count)]
        after += [first + (k + 1) % count if around or k + 1 < count else -1 for k in range(count)]
    kinds = np.array([t.kind for t in turned], dtype=object)
    sure = np.array([t.known for t in turned], dtype=bool)
    chain = np.array(owner, dtype=np.int64)
    return Facades(np.array(plane, dtype=np.int64), np.array(sign), chain, kinds[chain], sure[chain], label,
                   np.array(before, dtype=np.int64), np.array(after, dtype=np.int64))


def _runs(plane: Ints, closed: bool) -> list[Ints]:
    """Positions of equal neighbours; in a ring a run may pass its start."""
    breaks = np.flatnonzero(plane[1:] != plane[:-1]) + 1
    runs = np.split(np.arange(len(plane)), breaks)
    if closed and len(runs) > 1 and plane[0] == plane[-1]:
        runs = [np.r_[runs[-1], runs[0]], *runs[1:-1]]
    return runs
