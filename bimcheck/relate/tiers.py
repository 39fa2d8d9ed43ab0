"""Chains of walls, tier by tier where a building steps back: a tower that rises flush from its podium has two plans."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.relate import planes as pl
from bimcheck.relate import ring
from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.frames import Faces
from bimcheck.relate.settings import Relate

FLUSH = 1500.0  # mm; walls that begin or end nearer than this to the building's own bottom or top make no tier
LEVEL = 1000.0  # mm; heights nearer than this are one level
WHOLE = 0.999  # share of the long walls in rings from which the plan counts as closed


@dataclass(frozen=True)
class Rows:
    """What the skin needs of each row: normal and mid-point (side open), area, extent in height, raw face, rank (order
    of GlobalIds, by which facades are numbered)."""

    n: Floats
    mid: Floats
    area: Floats
    z0: Floats
    z1: Floats
    face: Faces
    rank: Ints
    thickness: Floats


def trace(rows: Rows, found: pl.Planes, wall: np.ndarray, settings: Relate) -> tuple[pl.Stretches, list[ring.Chain]]:
    """Stretches and their chains: over all heights, or by tiers where these close more of the walls."""
    low, high = pl.spans(rows.face, found)

    def stretches(use: np.ndarray) -> pl.Stretches:
        return pl.stretches(found, (low, high), (rows.z0, rows.z1), use)

    parts = stretches(wall)
    chains = _chains(found, parts, settings)
    levels = _levels(parts, chains, settings)
    if not len(levels):
        return parts, chains
    tier = np.searchsorted(levels, (rows.z0 + rows.z1) / 2)
    some = [stretches(wall & (tier == k)) for k in range(len(levels) + 1)]
    many = [_chains(found, s, settings) for s in some]
    joined, all_chains = _joined(some, many)
    better = _ringed(all_chains, joined.b - joined.a) > _ringed(chains, parts.b - parts.a)
    return (joined, all_chains) if better else (parts, chains)


def _levels(parts: pl.Stretches, chains: list[ring.Chain], settings: Relate) -> Floats:
    """Heights at which long walls outside the rings begin or end."""
    ringed = np.zeros(len(parts.plane), dtype=bool)
    for c in chains:
        ringed[c.stretch] |= c.closed
    loose = ~ringed & (parts.b - parts.a >= settings.return_mm)
    heights = np.sort(np.concatenate([parts.z0[loose], parts.z1[loose]]))
    if not len(heights):
        return heights
    heights = heights[(heights > parts.z0.min() + FLUSH) & (heights < parts.z1.max() - FLUSH)]
    label = pl.chains(heights, np.zeros(len(heights), dtype=np.int64), LEVEL)
    return np.array([heights[label == k].mean() for k in np.unique(label)])


def _joined(some: list[pl.Stretches], many: list[list[ring.Chain]]) -> tuple[pl.Stretches, list[ring.Chain]]:
    first = np.r_[0, np.cumsum([len(s.plane) for s in some])]
    label = np.max([np.where(s.label >= 0, s.label + f, -1) for s, f in zip(some, first[:-1], strict=True)], axis=0)
    plane, a, b, z0, z1 = (np.concatenate([getattr(s, k) for s in some]) for k in ("plane", "a", "b", "z0", "z1"))
    chains = [ring.Chain(c.stretch + f, c.forward, c.closed) for part, f in zip(many, first[:-1], strict=True) for c in part]
    return pl.Stretches(plane, a, b, z0, z1, label), chains


def _chains(found: pl.Planes, parts: pl.Stretches, settings: Relate) -> list[ring.Chain]:
    """Chains of the long stretches, with short ones where only they close the ring; other short ones are no facades."""
    length = parts.b - parts.a
    long = np.flatnonzero(length >= settings.return_mm)
    best = _trace(found, parts, long, settings)
    if len(long) < len(length) and _ringed(best, length) < WHOLE:
        every = _trace(found, parts, np.arange(len(length)), settings)
        best = every if not len(long) or _ringed(every, length) > _ringed(best, length) else best
    # Where there is nothing but short walls, they are the facades.
    return [c for c in best if not len(long) or c.closed or length[c.stretch].max() >= settings.return_mm]


def _trace(found: pl.Planes, parts: pl.Stretches, use: Ints, settings: Relate) -> list[ring.Chain]:
    some = pl.Stretches(parts.plane[use], parts.a[use], parts.b[use], parts.z0[use], parts.z1[use], parts.label)
    return [ring.Chain(use[c.stretch], c.forward, c.closed) for c in ring.trace(found, some, settings.corner_reach_mm, settings.gap_reach_mm)]


def _ringed(chains: list[ring.Chain], length: Floats) -> float:
    """Share of the walls, by length, that lies in rings."""
    total = sum(length[c.stretch].sum() for c in chains)
    return float(sum(length[c.stretch].sum() for c in chains if c.closed) / total) if total else 0.0
