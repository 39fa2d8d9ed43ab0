"""What a layout will roughly give, for ranking only: a table of grids on rectangles, interpolated.

The table (data/rectangles.npz) holds grids with equal spacing on rigid and elastic supports, solved by the plate engine
for a rectangle of area 1 and Poisson's ratio 0.2; lengths scale with sqrt(A).  What is chosen is always solved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from scipy.interpolate import NdBSpline, make_interp_spline

from bimcheck.core.units import Array
from bimcheck.layout.patterns import name

TABLE = Path(__file__).with_name("data") / "rectangles.npz"
NU = 0.2
REFERENCE = 0.01  # disc radius over sqrt(A) at which the table states the anchor moment
ASPECTS = tuple(float(np.round(v, 6)) for v in np.exp(np.linspace(-np.log(8), np.log(8), 13)))  # height / width
INSETS = tuple(float(np.round(v, 6)) for v in np.exp(np.linspace(np.log(0.04), np.log(0.42), 12)))  # over the side
SOFTNESS = (0.0, 0.008, 0.08)  # D / (k A) of a support
PATTERNS = ((2, 2), (3, 2), (3, 3), (4, 2), (4, 3), (5, 2))

_WHOLE = 3  # columns before those of anchors: field moment, deflection, relative deflection


def softness_nodes(pattern: tuple[int, int]) -> tuple[float, ...]:
    """Four anchors placed alike carry alike, however soft: only larger grids depend on the supports."""
    return SOFTNESS[:1] if pattern == (2, 2) else SOFTNESS


@dataclass(frozen=True)
class Estimate:
    """k layouts of n anchors on rectangles a x b: mm2 and mm4 as in `layouts`; shares, least (k, n) in mm2, greatest and
    least of rigid and elastic supports."""

    m_support: Array
    m_field: Array
    w_unit: Array
    w_span: Array
    shares: Array
    least: Array


@cache
def _splines() -> dict[tuple[int, int], list[NdBSpline]]:
    """Splines over softness, aspect and insets (no softness where it does not count), by pattern: the whole layout's
    columns, then a moment and then a share for each anchor of the lower left quadrant."""
    with np.load(TABLE) as blocks:
        return {p: _spline(blocks[name(*p)].astype(float), p) for p in PATTERNS}


def _spline(values: Array, pattern: tuple[int, int]) -> list[NdBSpline]:
    """On rigid supports, and on elastic ones where these differ."""
    axes = [np.log(ASPECTS), np.log(INSETS), np.log(INSETS)]
    rigid = _fit(values[0], axes, [3, 3, 3])
    return [rigid] if len(values) == 1 else [rigid, _fit(values, [_soft(np.array(SOFTNESS)), *axes], [2, 3, 3, 3])]


def _fit(values: Array, axes: list[Array], degrees: list[int]) -> NdBSpline:
    knots = []
    for i, (nodes, k) in enumerate(zip(axes, degrees, strict=True)):
        fit = make_interp_spline(nodes, np.moveaxis(values, i, 0), k=k)
        values = np.moveaxis(fit.c, 0, i)
        knots.append(fit.t)
    return NdBSpline(tuple(knots), np.ascontiguousarray(values), k=tuple(degrees))


def _soft(softness: Array) -> Array:
    """Coordinate along which results change evenly."""
    return np.log1p(np.clip(softness, 0, SOFTNESS[-1]) / SOFTNESS[1])


def estimate(pattern: tuple[int, int], size: Array, area: Array, points: Array, radius: Array, nu: Array,
             softness: Array) -> Estimate:
    """Estimate of k layouts.

    pattern: columns x rows.  size (k, 2) of the bounding rectangle, area (k,) of the panel, points (k, n, 2),
    radius (k,) design radius, nu (k,), softness (k,) D / k of a support in mm2.  Rows and columns that stand unequally
    are taken at both insets, the worse counts.
    """
    ends = np.stack([points.min(axis=1) / size, 1 - points.max(axis=1) / size])
    low, high = np.clip(ends.min(axis=0), *_INSIDE), np.clip(ends.max(axis=0), *_INSIDE)  # the same for a mirror image
    n = points.shape[1]
    found = _look_up(pattern, size, area, low, radius, nu, softness, n)
    rows = np.flatnonzero((np.abs(high - low) > 1e-3).any(axis=1))
    if len(rows):
        other = _look_up(pattern, size[rows], area[rows], high[rows], radius[rows], nu[rows], softness[rows], n)
        for k in Estimate.__dataclass_fields__:
            worse = np.minimum if k == "least" else np.maximum
            getattr(found, k)[rows] = worse(getattr(found, k)[rows], getattr(other, k))
    return found


_INSIDE = (INSETS[0], INSETS[-1])


def _look_up(pattern: tuple[int, int], size: Array, area: Array, inset: Array, radius: Array, nu: Array, softness: Array,
             n: int) -> Estimate:
    known = _nearest(pattern, n)
    turned = known[0] < known[1]
    aspect, fx, fy = size[:, 1] / size[:, 0], inset[:, 0], inset[:, 1]
    at = _coordinates(1 / aspect, fy, fx) if turned else _coordinates(aspect, fx, fy)
    rigid, *elastic = _splines()[_turned(known) if turned else known]
    values = [rigid(at), *(s(np.column_stack([_soft(softness / area), at])) for s in elastic)]
    few = known[0] * known[1] / n  # more anchors than the table knows: each takes less
    per_log = ((1 + NU) / (4 * np.pi) * np.log(REFERENCE * np.sqrt(area) / radius))[:, None]
    moments, shares = zip(*(np.split(v[:, _WHOLE:], 2, axis=1) for v in values), strict=True)
    support = np.max([(m + r * per_log).max(axis=1) for m, r in zip(moments, shares, strict=True)], axis=0)
    field = np.max([v[:, 0] for v in values], axis=0)
    most, least = (_expand(f(shares), known, turned, n) * few * area[:, None] for f in (np.maximum.reduce, np.minimum.reduce))
    stiffer = (1 + nu) / (1 + NU)
    return Estimate(support * stiffer * area * few, field * area * few, values[-1][:, 1] * area**2 * few,
                    values[-1][:, 2] * area**2 * few, most, least)


def _turned(pattern: tuple[int, int]) -> tuple[int, int]:
    return pattern[1], pattern[0]


def _nearest(pattern: tuple[int, int], n: int) -> tuple[int, int]:
    """The pattern itself where the table has it (or its transpose), else the largest of the table with fewer anchors."""
    if pattern in PATTERNS or _turned(pattern) in PATTERNS:
        return pattern
    nx, ny = pattern
    fits = [p for p in (*PATTERNS, *map(_turned, PATTERNS)) if p[0] <= nx and p[1] <= ny]
    return max(fits, key=lambda p: (p[0] * p[1], p), default=(2, 2))


def _coordinates(aspect: Array, fx: Array, fy: Array) -> Array:
    """(k, 3) logarithms, held at the ends of the table."""
    axes = ((aspect, ASPECTS), (fx, INSETS), (fy, INSETS))
    return np.stack([np.log(np.clip(v, nodes[0], nodes[-1])) for v, nodes in axes], axis=1)


def _expand(quadrant: Array, pattern: tuple[int, int], turned: bool, n: int) -> Array:
    """(k, n) shares row by row from those of the lower left quadrant, by symmetry; equal ones for other layouts."""
    nx, ny = pattern
    if nx * ny != n:
        return np.full((len(quadrant), n), 1.0 / n) * (n / (nx * ny))
    i, j = np.meshgrid(*(np.minimum(np.arange(m), m - 1 - np.arange(m)) for m in (nx, ny)))
    place = i * ((ny + 1) // 2) + j if turned else j * ((nx + 1) // 2) + i
    return quadrant[:, place.ravel()]


def same_kind(columns: Sequence[tuple[str, str]], known: dict[str, Array], n: int) -> dict[str, Array]:
    """Rough values for columns of `layouts` that are not estimated, by unit: a moment, a deflection, a length, a text."""
    stand_in = {"mm2": known["m_plate"], "mm4": known["w_unit"], "mm": known["span"], "text": np.full(n, "", dtype=object)}
    return {name: stand_in.get(unit, np.zeros(n)) for name, unit in columns if name not in known}
