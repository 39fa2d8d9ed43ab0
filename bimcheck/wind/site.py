"""Rules every standard shares: plan and height of the building, and which panels wall zones cover at all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.errors import InputError
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, count, mm, ratio, text

# How a panel is treated (column wall_case).
PLAIN, WORST_ZONE, RETURN, PARAPET = range(4)


def outline(footprint: Sequence[tuple[float, float]]) -> Array:
    """(k, 2) corners in mm; raises InputError where they enclose nothing."""
    corners = np.asarray(footprint, dtype=float).reshape(-1, 2) * 1000.0
    x, y = corners.T
    if len(corners) < 3 or abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) < 1.0:
        raise InputError("the footprint encloses no area", "[wind] footprint", "give at least three corners in order, in m")
    return corners


def extent(corners: Array, axes: Array) -> Array:
    """(m,) extent of the corners (k, 2) along each axis (m, 2)."""
    return np.ptp(corners @ axes.T, axis=0)


def least_width(corners: Array) -> float:
    """Least horizontal dimension: the least width over the directions of all pairs of corners (the hull's edges are
    among them)."""
    i, j = np.triu_indices(len(corners), 1)
    along = corners[j] - corners[i]
    along = along[np.hypot(*along.T) > 1.0]
    across = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None]
    return float(extent(corners, across).min())


@rule(
    "facades",
    adds=[Column("wind_b", "mm", "crosswind breadth of the building for wind square to the facade"),
          Column("wind_d", "mm", "depth of the building along that wind"),
          Column("wind_least", "mm", "least horizontal dimension of the building")],
    clause="EN 1991-1-4 Figure 7.5; ASCE 7 26.2", formula="extents of the plan along and square to the facade", section="wind",
)
def plan_extents(
    facade_n: ratio, facade_b: mm, facade_d: mm, least_plan: mm, *, footprint: Sequence[tuple[float, float]] = ()
) -> tuple[Array, Array, Array]:
    """Breadth and depth from the project's footprint, else from the model's enclosing rectangle.

    L, U and other plans: the rectangle that encloses the plan in the facade's own axes.
    """
    if not len(footprint):
        return facade_b, facade_d, least_plan
    corners, normal = outline(footprint), facade_n[:, :2]
    along = np.column_stack([-normal[:, 1], normal[:, 0]])
    return extent(corners, along), extent(corners, normal), np.full(len(facade_n), least_width(corners))


@rule("panels", adds=[Column("h_wind", "mm", "height of the building for wind", file="h_m", file_unit="m")],
      clause="EN 1991-1-4 Figure 7.4; ASCE 7 26.2", formula="h = [wind] h_m, else the derived height", section="wind")
def building_height(h_building: mm, *, h_m: float | None = None) -> Array:
    """Height of the building above ground."""
    return h_building if h_m is None else np.full(len(h_building), h_m * 1000.0)


@rule("panels", adds=[Column("wall_case", "count", "wall zones: 0 by distance, 1 worst zone (recess, courtyard), 2 corner return or reveal, 3 parapet"),
                      Column("wind_uncovered", "text", "why no wall zone covers the panel; blank where one does")],
      clause="EN 1991-1-4 7.2.2, 7.4.1; ASCE 7 30.3, 30.9", formula="by place and facade")
def wall_cases(place: text, facade_kind: text, form: text, s_left: mm, s_right: mm, h_wind: mm) -> tuple[NDArray[np.int64], NDArray]:
    """How the standard's wall zones are used on each panel."""
    inner = (facade_kind != "outer") | (place == "recess")
    case = np.select([place == "parapet", (place == "corner-return") | (place == "reveal"), inner], [PARAPET, RETURN, WORST_ZONE], PLAIN)
    return case, pick([
        (place == "soffit", "soffit: wall zones do not cover it, give tabulated pressures"),
        (place == "inclined", "inclined: wall zones do not cover it, give tabulated pressures"),
        ((place == "folded") | (form == "folded"), "folded: wall zones do not cover it, give tabulated pressures"),
        (np.isnan(s_left) | np.isnan(s_right), "no-facade: the panel lies in no facade"),
        (~(h_wind > 0), "no-height: the building's height is unknown, give [wind] h_m"),
    ])


def pick(options: Sequence[tuple[NDArray[np.bool_], str]]) -> NDArray:
    """The text of the first option that holds, row by row; blank where none does."""
    texts = np.array(["", *(t for _, t in options)], dtype=object)
    return texts[np.select([mask for mask, _ in options], range(1, len(texts)), 0)]


def joined(options: Sequence[tuple[NDArray[np.bool_], str]]) -> NDArray:
    """The texts of all options that hold, row by row, with "; " between."""
    code = sum((mask.astype(np.int64) << k for k, (mask, _) in enumerate(options)), np.int64(0))
    texts = ["; ".join(t for k, (_, t) in enumerate(options) if c >> k & 1) for c in range(1 << len(options))]
    return np.array(texts, dtype=object)[code]


@rule("anchors", adds=[Column("tributary_left", "mm", "left edge of the tributary area, from the panel's left edge"),
                       Column("tributary_right", "mm", "right edge of the tributary area, from the panel's left edge")],
      clause="EN 1991-1-4 7.2.1(1); ASCE 7 26.2", formula="half-way to the neighbours of the same row, else the panel's edge")
def tributary_edges(candidate: count, x: mm, y: mm, width: mm) -> tuple[Array, Array]:
    """Horizontal reach of each anchor's tributary area.

    Half-way to the neighbours at the same height: the tributary area of any pattern lies within that reach.
    """
    order = np.lexsort((x, np.round(y), candidate))
    row = np.stack([candidate[order], np.round(y)[order]])
    same = (row[:, 1:] == row[:, :-1]).all(axis=0)
    middle = (x[order][1:] + x[order][:-1]) / 2
    left, right = np.zeros(len(x)), np.asarray(width, dtype=float).copy()
    left[order[1:][same]] = middle[same]
    right[order[:-1][same]] = middle[same]
    return left, right
