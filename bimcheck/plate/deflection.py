"""Deflection relative to the line between adjacent anchors, and of what overhangs, for limits of the kind L / 200.

Two anchors are adjacent where no third lies within the circle on the line between them; an overhang is measured on
twice its length (method of limits on spans; common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.plate.hermite import Array, Index
from bimcheck.plate.response import Response

NEAR = 1e-6  # twice the overhang, in plate units: nearer, the point is the anchor
ALONG = np.array([0.2, 0.35, 0.5, 0.65, 0.8])  # of a span, where it is read


@dataclass(frozen=True)
class Reference:
    """Candidates for the largest relative deflection: layout, deflection over length, and the length."""

    layout: Index
    slope: Array
    length: Array


def relative(response: Response, points: Array, w: Array) -> tuple[Array, Array]:
    """Largest relative deflection over its reference length, and that length, both (m,), plate units.

    points, w: outline points (p, 2) and their deflections (m, p).
    """
    groups = [_spans(response, int(n)) for n in np.unique(response.layouts.counts) if n > 1]
    parts = [_over_spans(response, groups), *(_overhangs(response, int(n), points, w)
                                              for n in np.unique(response.layouts.counts) if n > 0)]
    layout, slope, length = (np.concatenate([getattr(p, k) for p in parts]) for k in ("layout", "slope", "length"))
    order = np.lexsort((slope, layout))
    last = np.searchsorted(layout[order], np.arange(len(response.rigid)), side="right") - 1
    best = order[np.maximum(last, 0)]
    return slope[best], length[best]


@dataclass(frozen=True)
class Spans:
    """Lines between adjacent anchors: layout, ends (k, 2) and what these yield."""

    layout: Index
    start: Array
    end: Array
    yielded: Array


def _spans(response: Response, n: int) -> Spans:
    """Lines between adjacent anchors of the layouts with n anchors."""
    layouts = response.layouts
    rows, places = layouts.of_count(n)
    anchors, yielded = layouts.points[layouts.which[places]], response.yielded[places]
    i, j = np.triu_indices(n, 1)
    layout, pair = np.nonzero(_adjacent(anchors, i, j))
    first, second = (layout, i[pair]), (layout, j[pair])
    return Spans(rows[layout], anchors[first], anchors[second], np.stack([yielded[first], yielded[second]], axis=-1))


def _adjacent(anchors: Array, i: Index, j: Index) -> Array:
    """(k, pairs) True where no third anchor is inside the circle on the pair."""
    span, middle = anchors[:, i] - anchors[:, j], (anchors[:, i] + anchors[:, j]) / 2
    x, y = (anchors[:, None, :, k] - middle[:, :, None, k] for k in (0, 1))
    return ~np.any(x * x + y * y < 0.249 * np.sum(span * span, axis=-1)[..., None], axis=-1)


def _over_spans(response: Response, groups: list[Spans]) -> Reference:
    layout, start, end, yielded = (
        np.concatenate([getattr(g, k) for g in groups]) for k in ("layout", "start", "end", "yielded")
    )
    at = start[:, None] + ALONG[:, None] * (end - start)[:, None]
    line = yielded[:, :1] * (1 - ALONG) + yielded[:, 1:] * ALONG
    sag = np.abs(response.deflection(at, layout) - line).max(axis=1)
    length = np.hypot(end[:, 0] - start[:, 0], end[:, 1] - start[:, 1])
    return Reference(layout, sag / length, length)


def _overhangs(response: Response, n: int, points: Array, w: Array) -> Reference:
    """Largest over outline points against the nearest anchor, for the layouts with n anchors."""
    rows, places = response.layouts.of_count(n)
    anchors, yielded = response.layouts.points[response.layouts.which[places]], response.yielded[places]
    x, y = (points[None, :, None, k] - anchors[:, None, :, k] for k in (0, 1))
    squared = x * x + y * y
    nearest = np.argmin(squared, axis=-1)
    twice = 2 * np.sqrt(np.take_along_axis(squared, nearest[..., None], axis=-1)[..., 0])
    drop = np.abs(w[rows] - np.take_along_axis(yielded, nearest, axis=1))
    slopes = np.where(twice > NEAR, drop / np.maximum(twice, NEAR), 0.0)
    best = (np.arange(len(rows)), np.argmax(slopes, axis=1))
    return Reference(rows, slopes[best], twice[best])
