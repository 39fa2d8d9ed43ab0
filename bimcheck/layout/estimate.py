"""What a layout will roughly give, for ranking only: a table of grids on rectangles, interpolated.

The table (data/rectangles.csv) holds rigidly supported grids with equal spacing, solved by the plate engine for a
rectangle of area 1 and Poisson's ratio 0.2; lengths scale with sqrt(A).  What is chosen is always solved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from scipy.interpolate import NdBSpline, make_interp_spline

from bimcheck.core.units import Array

TABLE = Path(__file__).with_name("data") / "rectangles.csv"
NU = 0.2
REFERENCE = 0.01  # disc radius over sqrt(A) at which the table states the anchor moment
ASPECTS = tuple(float(np.round(v, 6)) for v in np.exp(np.linspace(-np.log(8), np.log(8), 13)))  # height / width
INSETS = tuple(float(np.round(v, 6)) for v in np.exp(np.linspace(np.log(0.03), np.log(0.42), 9)))  # over the side
PATTERNS = ((2, 2), (3, 2), (3, 3), (4, 2), (4, 3), (4, 4), (5, 2), (5, 3), (6, 2))

_COLUMNS = ("m_field", "w_max", "slope", "slope_length")


@dataclass(frozen=True)
class Estimate:
    """k layouts of n anchors on rectangles a x b: mm2 and mm4 as in `layouts`; shares (k, n) in mm2."""

    m_support: Array
    m_field: Array
    w_unit: Array
    w_span: Array
    shares: Array


@cache
def _splines() -> dict[tuple[int, int], NdBSpline]:
    """Cubic splines of a pattern: the columns, then a moment and then a share for each anchor of the lower left quadrant."""
    rows: dict[tuple[int, int], list[list[float]]] = {}
    for line in TABLE.read_text(encoding="utf-8").splitlines()[1:]:
        nx, ny, *rest, shares = line.split(",")
        rows.setdefault((int(nx), int(ny)), []).append([float(v) for v in (*rest, *shares.split())])
    return {key: _spline(np.array(block)[:, 3:]) for key, block in rows.items()}


def _spline(block: Array) -> NdBSpline:
    axes = (ASPECTS, INSETS, INSETS)
    values, knots = block.reshape(*map(len, axes), -1), []
    for i, nodes in enumerate(axes):
        fit = make_interp_spline(np.log(nodes), np.moveaxis(values, i, 0), k=3)
        values = np.moveaxis(fit.c, 0, i)
        knots.append(fit.t)
    return NdBSpline(tuple(knots), np.ascontiguousarray(values), k=3)


def estimate(pattern: tuple[int, int], size: Array, area: Array, points: Array, radius: Array, nu: Array) -> Estimate:
    """Estimate of k layouts.

    pattern: columns x rows.  size (k, 2) of the bounding rectangle, area (k,) of the panel, points (k, n, 2),
    radius (k,) design radius, nu (k,).  Rows and columns that stand unequally are taken at both insets, the worse counts.
    """
    ends = np.stack([points.min(axis=1) / size, 1 - points.max(axis=1) / size])
    low, high = np.clip(ends.min(axis=0), *_INSIDE), np.clip(ends.max(axis=0), *_INSIDE)  # the same for a mirror image
    first = _look_up(pattern, size, area, low, radius, nu, points.shape[1])
    if np.allclose(low, high, atol=1e-3):
        return first
    second = _look_up(pattern, size, area, high, radius, nu, points.shape[1])
    return Estimate(*(np.maximum(getattr(first, k), getattr(second, k)) for k in Estimate.__dataclass_fields__))


_INSIDE = (INSETS[0], INSETS[-1])


def _look_up(pattern: tuple[int, int], size: Array, area: Array, inset: Array, radius: Array, nu: Array, n: int) -> Estimate:
    nx, ny = known = _nearest(pattern, n)
    turned = nx < ny
    aspect, fx, fy = size[:, 1] / size[:, 0], inset[:, 0], inset[:, 1]
    spline = _splines()[(ny, nx) if turned else known]
    at = _coordinates(1 / aspect, fy, fx) if turned else _coordinates(aspect, fx, fy)
    values = spline(at)
    field, w, slope, length = values[:, : len(_COLUMNS)].T
    moments, reactions = np.split(values[:, len(_COLUMNS) :], 2, axis=1)
    few = nx * ny / n  # more anchors than the table knows: each takes less
    moments = moments + reactions * ((1 + NU) / (4 * np.pi) * np.log(REFERENCE * np.sqrt(area) / radius))[:, None]
    support = moments.max(axis=1) * (1 + nu) / (1 + NU)
    shares = _expand(reactions, known, turned, n) * few
    return Estimate(support * area * few, field * area * few, w * area**2 * few, slope * length * area**2 * few, shares * area[:, None])


def _nearest(pattern: tuple[int, int], n: int) -> tuple[int, int]:
    """The pattern itself where the table has it (or its transpose), else the largest of the table with fewer anchors."""
    if pattern in PATTERNS or pattern[::-1] in PATTERNS:
        return pattern
    nx, ny = pattern
    fits = [p for p in (*PATTERNS, *(q[::-1] for q in PATTERNS)) if p[0] <= nx and p[1] <= ny]
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
