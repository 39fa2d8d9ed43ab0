"""Deflection relative to the line between adjacent anchors, and of what overhangs, for limits of the kind L / 200.

Two anchors are adjacent where no third lies within the circle on the line between them; an overhang is measured on
twice its length (method of limits on spans; common practice, no source).
"""

from __future__ import annotations

import numpy as np

from bimcheck.plate.hermite import Array, Index
from bimcheck.plate.response import Response

ALONG = np.array([0.2, 0.35, 0.5, 0.65, 0.8])  # of a span, where it is read


def relative(response: Response, points: Array, w: Array) -> tuple[Array, Array]:
    """Largest relative deflection over its reference length, and that length, both (m,), plate units.

    points, w: outline points (p, 2) and their deflections (m, p).
    """
    m = len(response.rigid)
    slope, length = np.zeros(m), np.full(m, np.nan)
    layouts = response.layouts
    for n in np.unique(layouts.counts[layouts.counts >= 3]):
        rows, places = layouts.of_count(n)
        anchors, yielded = layouts.points[layouts.which[places]], response.yielded[places]
        for part in (_spans(response, rows, anchors, yielded), _overhangs(anchors, yielded, points, w[rows])):
            more = part[0] > slope[rows]
            slope[rows[more]], length[rows[more]] = part[0][more], part[1][more]
    return slope, length


def _spans(response: Response, rows: Index, anchors: Array, yielded: Array) -> tuple[Array, Array]:
    """Largest over the lines between adjacent anchors (k, n, 2) of layouts `rows`."""
    i, j = np.triu_indices(anchors.shape[1], 1)
    span = np.linalg.norm(anchors[:, i] - anchors[:, j], axis=-1)
    layout, pair = np.nonzero(_adjacent(anchors, i, j, span))
    start, end = anchors[layout, i[pair]], anchors[layout, j[pair]]
    at = start[:, None] + ALONG[:, None] * (end - start)[:, None]
    line = yielded[layout, i[pair], None] * (1 - ALONG) + yielded[layout, j[pair], None] * ALONG
    sag = np.abs(response.deflection(at, rows[layout]) - line).max(axis=1)
    slopes = np.zeros(span.shape)
    slopes[layout, pair] = sag / span[layout, pair]
    return _worst(slopes, span)


def _adjacent(anchors: Array, i: Index, j: Index, span: Array) -> Array:
    """(k, pairs) True where no third anchor is inside the circle on the pair."""
    middle = (anchors[:, i] + anchors[:, j]) / 2
    distance = np.linalg.norm(anchors[:, None] - middle[:, :, None], axis=-1)
    return ~np.any(distance < 0.499 * span[..., None], axis=-1)


def _overhangs(anchors: Array, yielded: Array, points: Array, w: Array) -> tuple[Array, Array]:
    """Largest over outline points, against the nearest anchor."""
    distance = np.linalg.norm(points[None, :, None] - anchors[:, None], axis=-1)
    nearest = np.argmin(distance, axis=-1)
    twice = 2 * np.maximum(np.take_along_axis(distance, nearest[..., None], axis=-1)[..., 0], 1e-9)
    drop = np.abs(w - np.take_along_axis(yielded, nearest, axis=1))
    return _worst(np.where(twice > 1e-6, drop / twice, 0.0), twice)


def _worst(slopes: Array, lengths: Array) -> tuple[Array, Array]:
    best = np.argmax(slopes, axis=1)[:, None]
    return np.take_along_axis(slopes, best, axis=1)[:, 0], np.take_along_axis(lengths, best, axis=1)[:, 0]
