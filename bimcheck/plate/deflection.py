"""Deflection relative to the line between adjacent anchors, and of what overhangs, for limits of the kind L / 200.

Two anchors are adjacent where no third lies within the circle on the line between them.  A point of the outline is
measured from the nearest point of those lines: against their length where it faces one, against twice its distance
where it overhangs further (common practice, no source).
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

    points, w: outline points (p, 2), or (m, p, 2), and their deflections (m, p).
    """
    groups = [_spans(response, int(n)) for n in np.unique(response.layouts.counts) if n > 1]
    if not groups:
        return np.zeros(len(response.rigid)), np.full(len(response.rigid), np.nan)
    order = np.argsort(np.concatenate([g.layout for g in groups]), kind="stable")
    spans = Spans(*(np.concatenate([getattr(g, k) for g in groups])[order] for k in ("layout", "start", "end", "yielded")))
    between, beyond = _over_spans(response, spans), _outline(spans, points, w)
    layout, slope, length = (np.concatenate([getattr(p, k) for p in (between, beyond)]) for k in ("layout", "slope", "length"))
    order = np.lexsort((slope, layout))
    last = np.searchsorted(layout[order], np.arange(len(response.rigid)), side="right") - 1
    best = order[np.maximum(last, 0)]
    return slope[best], length[best]


@dataclass(frozen=True)
class Spans:
    """Lines between adjacent anchors: layout (rising), ends (k, 2) and what these yield."""

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


def _over_spans(response: Response, spans: Spans) -> Reference:
    """Largest deflection along each line."""
    step = spans.end - spans.start
    at = spans.start[:, None] + ALONG[:, None] * step[:, None]
    sag = np.abs(response.deflection(at, spans.layout) - _line(spans, ALONG)).max(axis=1)
    length = np.hypot(step[:, 0], step[:, 1])
    return Reference(spans.layout, sag / length, length)


def _line(spans: Spans, along: Array) -> Array:
    """Deflection of the lines themselves, (k, ...) at shares (...) or (k, ...) of their length."""
    return spans.yielded[:, :1] * (1 - along) + spans.yielded[:, 1:] * along


def _outline(spans: Spans, points: Array, w: Array) -> Reference:
    """Largest over outline points for which a line is (one of) the nearest of its layout, one a line."""
    step = spans.end - spans.start
    length = np.hypot(step[:, 0], step[:, 1])[:, None]
    own = points[spans.layout] if points.ndim > 2 else points
    x, y = (own[..., k] - spans.start[:, k, None] for k in (0, 1))
    along = np.clip((x * step[:, :1] + y * step[:, 1:]) / length**2, 0.0, 1.0)
    away = np.hypot(x - along * step[:, :1], y - along * step[:, 1:])
    first = np.flatnonzero(np.diff(spans.layout, prepend=-1))
    nearest = np.minimum.reduceat(away, first, axis=0)[np.cumsum(np.diff(spans.layout, prepend=-1) > 0) - 1]
    facing = (along > 0) & (along < 1)
    reference = np.maximum(np.where(facing, np.maximum(length, 2 * away), 2 * away), NEAR)
    counts = (away <= nearest + NEAR) & (reference > NEAR)
    slope = np.where(counts, np.abs(w[spans.layout] - _line(spans, along)) / reference, 0.0)
    best = (np.arange(len(slope)), np.argmax(slope, axis=1))
    return Reference(spans.layout, slope[best], reference[best])
