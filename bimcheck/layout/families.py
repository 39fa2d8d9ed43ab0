"""Families: all permitted positions of one pattern on one class, addressed by a step along x and a step along y."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import Array
from bimcheck.layout.classes import Class
from bimcheck.layout.patterns import Pattern, spread
from bimcheck.layout.polygons import inside, scanned
from bimcheck.layout.rails import heights, rows_on_rails
from bimcheck.layout.settings import Layout

TOLERANCE = 1e-6


@dataclass(frozen=True)
class Family:
    """Positions of a pattern in the canonical image of the site.

    xs (kx, nx) and ys (ky, ny) are the steps; adapt: rows are fitted to the outline, xs then holds shares of the row.
    scattered: steps along y are not in the order of their heights (sets of rails), so that all are looked at.
    """

    cls: Class
    pattern: Pattern
    xs: Array
    ys: Array
    rounding: float
    clearance: float

    @property
    def shape(self) -> tuple[int, int]:
        return len(self.xs), len(self.ys)

    @property
    def scattered(self) -> bool:
        return len(self.cls.site.rails) > 0

    def points(self, ix: NDArray[np.int64], iy: NDArray[np.int64]) -> Array:
        """(k, n, 2) anchors row by row from below, in the panel's own frame; nan where the outline has no room."""
        site = self.cls.site
        if site.rectangle:
            points = np.empty((len(ix), self.pattern[1], self.pattern[0], 2))
            points[..., 0], points[..., 1] = self.xs[ix][:, None, :], self.ys[iy][:, :, None]
            if site.plain:
                return site.own(points.reshape(len(ix), -1, 2))
        else:
            points = scanned(site, float(self.cls.edge.max()), self.xs[ix], self.ys[iy], self.rounding)
        points = points.reshape(len(ix), -1, 2)
        points = np.where(permitted(self.cls, points, self.clearance)[:, None, None], points, np.nan)
        return site.own(points)


def permitted(cls: Class, points: Array, clearance: float) -> NDArray[np.bool_]:
    """(k,) True where all anchors (k, n, 2) keep edge distance, spacing and keep-outs, canonical image.

    On rectangles the steps of a family keep edges and spacing already.
    """
    ok = np.ones(len(points), dtype=bool) if cls.site.rectangle else spacing_of(points).min(axis=1) >= cls.spacing - TOLERANCE
    for x0, y0, x1, y1 in cls.site.boxes:
        x, y = points[..., 0], points[..., 1]
        hit = (x > x0 - clearance) & (x < x1 + clearance) & (y > y0 - clearance) & (y < y1 + clearance)
        ok &= ~hit.any(axis=1)
    return ok if cls.site.rectangle else ok & inside(cls.site, float(cls.edge.max()), points)


def spacing_of(points: Array) -> Array:
    """(k, n) distance of each anchor to the nearest other one."""
    n = points.shape[1]
    gap = np.linalg.norm(points[:, :, None] - points[:, None], axis=-1)
    gap[:, np.arange(n), np.arange(n)] = np.inf
    return gap.min(axis=2)


def family(cls: Class, pattern: Pattern, settings: Layout) -> Family | None:
    """The family of a pattern on a class; None where the pattern does not fit."""
    nx, ny = pattern
    xs = _columns(cls, nx, settings) if cls.site.rectangle else _shares(nx)
    ys = _rows(cls, ny, settings)
    if not len(xs) or not len(ys):
        return None
    found = Family(cls, pattern, xs, ys, settings.rounding_mm, settings.keep_out_clearance_mm)
    return found if _any(found) else None


def _spaced(steps: Array, spacing: float) -> Array:
    """Steps (k, m) whose neighbours keep the spacing: rounding may have taken a millimetre too much."""
    return steps[(steps[:, 1:] - steps[:, :-1] >= spacing - TOLERANCE).all(axis=1)]


def _any(found: Family) -> bool:
    if found.cls.site.plain:
        return True
    ix, iy = coarse(found, 9)
    return bool(np.isfinite(found.points(ix, iy)[:, 0, 0]).any())


def coarse(found: Family | Listed, steps: int) -> NDArray[np.int64]:
    """(2, k) indices of a ladder of about steps x steps positions."""
    return _ladder(found.shape, (steps, max(steps, 12) if found.scattered else steps)).T


@lru_cache(maxsize=1024)
def _ladder(shape: tuple[int, int], steps: tuple[int, int]) -> NDArray[np.int64]:
    """(k, 2) steps evenly spread over both axes, ends included."""
    i, j = (np.linspace(0, k - 1, min(k, most)).round().astype(np.int64) for k, most in zip(shape, steps, strict=True))
    return np.stack(np.meshgrid(i, j, indexing="ij"), axis=-1).reshape(-1, 2)


def insets(low: float, high: float, side: float, n: int, spacing: float, step: float, preferred: Sequence[float]) -> Array:
    """Permitted insets along one side, rising: multiples of the step, the least one, and preferred ones."""
    most = min(high, (side - (n - 1) * spacing) / 2)
    if most < low - TOLERANCE:
        return np.empty(0)
    ladder = np.arange(np.ceil(low / step - 1e-9), np.floor(most / step + 1e-9) + 1) * step
    few = [v for v in preferred if low <= v <= most]
    found = np.unique(np.concatenate([ladder, few])) if few else ladder
    return found if len(found) else np.array([low])


def _columns(cls: Class, nx: int, settings: Layout) -> Array:
    return _along(cls, 0, nx, settings, uneven=len(cls.site.boxes) > 0)


def _along(cls: Class, axis: int, n: int, settings: Layout, *, uneven: bool) -> Array:
    """(k, n) steps along one side that keep edge distance and spacing."""
    low, high, side = (float(v[axis]) for v in (cls.edge, cls.edge_max, cls.site.size))
    return _steps(low, high, side, n, cls.spacing, settings.rounding_mm, tuple(settings.preferred_insets_mm), uneven)


@lru_cache(maxsize=8192)  # many classes have a side in common
def _steps(low: float, high: float, side: float, n: int, spacing: float, step: float, preferred: tuple[float, ...], uneven: bool) -> Array:
    found = insets(low, high, side, n, spacing, step, preferred)
    even = spread(found, side - found, n, step)
    return _spaced(np.concatenate([even, _uneven(found, side, n, step)]) if uneven else even, spacing)


def _uneven(found: Array, side: float, n: int, step: float) -> Array:
    """Steps with different insets at both ends, for panels with something to avoid."""
    few = found[np.unique(np.linspace(0, len(found) - 1, min(len(found), 12)).round().astype(int))] if len(found) else found
    left, right = (v.ravel() for v in np.meshgrid(few, few))
    odd = left != right
    return spread(left[odd], side - right[odd], n, step)


def _rows(cls: Class, ny: int, settings: Layout) -> Array:
    if not len(cls.site.rails):
        return _along(cls, 1, ny, settings, uneven=not cls.site.plain)
    low, high = float(cls.edge[1]), float(cls.site.size[1] - cls.edge[1])
    return _on_rails(tuple(cls.site.rails.tolist()), settings.clip_offset_mm, settings.row_rounding_mm, ny, low, high,
                     float(cls.edge_max[1]), cls.spacing)


@lru_cache(maxsize=8192)
def _on_rails(rails: tuple[float, ...], clip: float, rounding: float, n: int, low: float, high: float, edge_max: float, spacing: float) -> Array:
    return rows_on_rails(heights(np.array(rails), clip, rounding), n, low, high, edge_max, spacing)


def _shares(nx: int) -> Array:
    """Rows fitted to an outline: each column's place as a share of the room in its row, symmetric."""
    inset = np.linspace(0, 0.36, 13)
    return spread(inset, 1 - inset, nx, 0)


@dataclass(frozen=True)
class Listed:
    """A family whose positions are listed one by one: points (k, n, 2) in the canonical image."""

    cls: Class
    pattern: Pattern
    listed: Array

    @property
    def shape(self) -> tuple[int, int]:
        return len(self.listed), 1

    @property
    def scattered(self) -> bool:
        return False

    def points(self, ix: NDArray[np.int64], iy: NDArray[np.int64]) -> Array:
        return self.cls.site.own(self.listed[ix])


@dataclass(frozen=True)
class Steps:
    """Steps of many families on plain rectangles end to end: those of family f start at x0[f] and y0[f]; plain (f,) is
    False for the families that are not among them."""

    plain: NDArray[np.bool_]
    xs: Array
    ys: Array
    x0: NDArray[np.int64]
    y0: NDArray[np.int64]

    def points(self, family: NDArray[np.int64], ix: NDArray[np.int64], iy: NDArray[np.int64], pattern: Pattern) -> Array:
        """(k, n, 2) anchors of one pattern row by row from below, as Family.points gives them."""
        nx, ny = pattern
        out = np.empty((len(family), ny, nx, 2))
        out[..., 0] = self.xs[(self.x0[family] + ix * nx)[:, None] + np.arange(nx)][:, None, :]
        out[..., 1] = self.ys[(self.y0[family] + iy * ny)[:, None] + np.arange(ny)][:, :, None]
        return out.reshape(len(family), -1, 2)


def steps_of(families: Sequence[Family | Listed]) -> Steps:
    """The steps of those families that stand on plain rectangles."""
    plain = [isinstance(f, Family) and f.cls.site.plain for f in families]
    xs, ys = ([getattr(f, k).ravel() if p else np.empty(0) for f, p in zip(families, plain, strict=True)] for k in ("xs", "ys"))
    x0, y0 = (np.cumsum([0, *map(len, s)], dtype=np.int64)[:-1] for s in (xs, ys))
    return Steps(np.array(plain, dtype=bool), np.concatenate([np.empty(0), *xs]), np.concatenate([np.empty(0), *ys]), x0, y0)


def preferred_steps(found: Family | Listed, wanted: list[float]) -> NDArray[np.int64]:
    """(2, k) indices of the positions whose insets are all preferred ones (rows on rails are not asked)."""
    if isinstance(found, Listed) or not found.cls.site.rectangle:
        return np.empty((2, 0), dtype=np.int64)
    size = found.cls.site.size
    i = np.flatnonzero(_ends_in(found.xs, float(size[0]), wanted))
    on_rails = bool(len(found.cls.site.rails))
    j = np.arange(len(found.ys)) if on_rails else np.flatnonzero(_ends_in(found.ys, float(size[1]), wanted))
    return np.stack(np.meshgrid(i, j, indexing="ij")).reshape(2, -1)


def _ends_in(steps: Array, side: float, wanted: list[float]) -> NDArray[np.bool_]:
    off = [np.abs(v - np.array(wanted)).min(axis=1) for v in (steps[:, :1], side - steps[:, -1:])]
    return np.maximum(*off) < TOLERANCE
