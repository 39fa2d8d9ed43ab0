"""Where something stands against the grid of the building: the nearest axis of two families, and how far from each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.relate.facts import Floats, Ints, table_of

PARALLEL = np.cos(np.radians(1.0))  # axes of one family turn by less
ACROSS = np.cos(np.radians(30.0))  # families of a pair by more
REACH = 15_000.0  # mm beyond its ends that an axis still counts


def axes_table(axes: Iterable[Any]) -> Table:
    """The table `axes` of what has tag, start and end (plan, world, mm); an axis that several files hold stands once."""
    rows = dict.fromkeys((str(a.tag), tuple(np.round([*a.start, *a.end], 1).tolist())) for a in axes)
    kept = [(tag, ends) for tag, ends in rows if tag and np.hypot(ends[2] - ends[0], ends[3] - ends[1]) > 1.0]
    columns = {k: np.array([ends[i] for _, ends in kept], dtype=float) for i, k in enumerate(("x0", "y0", "x1", "y1"))}
    return table_of("axes", tag=np.array([tag for tag, _ in kept], dtype=object), **columns)


def places(points: Floats, axes: Table) -> NDArray[Any]:
    """(n,) such as "B +1.20 m, 3 -0.40 m": plus is towards the axes that follow in the file (of a lone
    axis: to its right).  Blank where no axis reaches.

    points: (n, 3) or (n, 2) mm, world.  axes: `axes_table`.
    """
    out = np.full(len(points), "", dtype=object)
    there = np.isfinite(points[:, :2]).all(axis=1) if axes.n else np.zeros(len(points), dtype=bool)
    if not there.any():
        return out
    families = _families(axes)
    nearest = [f.nearest(points[there, :2]) for f in families]
    away = np.column_stack([np.abs(offset) for _, offset in nearest])
    first, second = _pairs(away, families)
    texts = [_texts(f, axes["tag"], *n) for f, n in zip(families, nearest, strict=True)]
    rows = np.arange(len(away))
    chosen = np.sort(np.column_stack([first, np.where(second < 0, first, second)]), axis=1)
    out[there] = [_joined(texts, r, a, b) if np.isfinite(away[r, a]) else "" for r, a, b in zip(rows.tolist(), *chosen.T.tolist(), strict=True)]
    return out


@dataclass(frozen=True)
class Family:
    """Parallel axes.  along, across: unit vectors; at: (k,) their distance along `across`; ends: (k, 2) along them."""

    rows: Ints
    along: Floats
    across: Floats
    at: Floats
    ends: Floats

    def nearest(self, points: Floats) -> tuple[Ints, Floats]:
        """(n,) row of axes and offset from it; the offset is infinite where no axis reaches."""
        offset = (points @ self.across)[:, None] - self.at
        run = (points @ self.along)[:, None]
        reached = (run >= self.ends[:, 0] - REACH) & (run <= self.ends[:, 1] + REACH)
        away = np.where(reached, np.abs(offset), np.inf)
        best = away.argmin(axis=1)
        picked = np.arange(len(points)), best
        return self.rows[best], np.where(np.isfinite(away[picked]), offset[picked], np.inf)


def _families(axes: Table) -> list[Family]:
    """Axes by direction, in the order of the file."""
    start, end = np.column_stack([axes["x0"], axes["y0"]]), np.column_stack([axes["x1"], axes["y1"]])
    along = (end - start) / np.linalg.norm(end - start, axis=1)[:, None]
    free, made = np.ones(axes.n, dtype=bool), []
    while free.any():
        lead = along[np.flatnonzero(free)[0]]
        rows = np.flatnonzero(free & (np.abs(along @ lead) > PARALLEL))
        free[rows] = False
        made.append(_family(rows, lead, start[rows], end[rows]))
    return made


def _family(rows: Ints, along: Floats, start: Floats, end: Floats) -> Family:
    across = np.array([along[1], -along[0]])
    grows = float((start[-1] - start[0]) @ across)
    across = -across if grows < 0 else across
    runs = np.column_stack([start @ along, end @ along])
    return Family(rows, along, across, start @ across, np.sort(runs, axis=1))


def _pairs(away: Floats, families: list[Family]) -> tuple[Ints, Ints]:
    """(n,) the family with the nearest axis, and the nearest of those that cross it (-1: none)."""
    along = np.array([f.along for f in families])
    crosses = np.abs(along @ along.T) < ACROSS
    first = away.argmin(axis=1)
    others = np.where(crosses[first], away, np.inf)
    second = others.argmin(axis=1)
    return first, np.where(np.isfinite(others[np.arange(len(away)), second]), second, -1)


def _texts(family: Family, tags: NDArray[Any], rows: Ints, offset: Floats) -> list[str]:
    metres = np.round(offset / 1000.0, 2) + 0.0
    return [f"{t} {'+' if m >= 0 else '-'}{abs(m):.2f} m" for t, m in zip(tags[rows].tolist(), metres.tolist(), strict=True)]


def _joined(texts: list[list[str]], row: int, a: int, b: int) -> str:
    return texts[a][row] if a == b else f"{texts[a][row]}, {texts[b][row]}"
