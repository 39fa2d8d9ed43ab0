"""Sites: what decides where anchors may sit.  Panels with the same site are offered the same layouts.

A site is an outline with its cut-outs in the panel frame (rounded to 0.1 mm), the rows of supports behind it and the
boxes to avoid.  Mirror images are one site that is offered mirrored layouts: the positions are worked out for the image
whose numbers come first, so that a mirrored model gets the mirrored result.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table
from bimcheck.core.units import Array

ROUND = 0.1  # of outlines, in mm
_RAIL_ROUND, _BOX_ROUND = 1.0, 1.0


@dataclass(frozen=True)
class Site:
    """rings: (k, 2) arrays, outline first, in the canonical image.  boxes (k, 4) to avoid; rails (k,) heights of supports,
    rising.  flipped: the panel is the mirror image of it."""

    rings: tuple[Array, ...]
    boxes: Array
    rails: Array
    flipped: bool

    @cached_property
    def size(self) -> Array:
        return self.rings[0].max(axis=0)

    @cached_property
    def polygon(self) -> shapely.Polygon:
        return shapely.Polygon(self.rings[0], list(self.rings[1:]))

    @cached_property
    def area(self) -> float:
        """Of the outline less its cut-outs."""
        outer, *inner = (abs(_twice_area(r)) / 2 for r in self.rings)
        return float(outer - sum(inner))

    @cached_property
    def rectangle(self) -> bool:
        full = float(self.size.prod())
        return len(self.rings) == 1 and len(self.rings[0]) == 4 and abs(self.area - full) <= 1e-5 * full

    @cached_property
    def plain(self) -> bool:
        """A rectangle with nothing to avoid: its steps along x and y go with one another, all of them."""
        return self.rectangle and not len(self.boxes)

    @cached_property
    def triangle(self) -> bool:
        return len(self.rings) == 1 and len(self.rings[0]) == 3

    def own(self, points: Array) -> Array:
        """Points (..., 2) of the canonical image in the panel's own frame."""
        return mirrored(points, float(self.size[0])) if self.flipped else points

    @cached_property
    def own_rings(self) -> tuple[Array, ...]:
        return tuple(self.own(r)[::-1] if self.flipped else r for r in self.rings)


def mirrored(points: Array, width: float) -> Array:
    """Points seen in a mirror: x -> width - x."""
    return np.stack([width - points[..., 0], points[..., 1]], axis=-1)


def sites_of(panels: Table, follow_rails: bool) -> tuple[NDArray[np.int64], list[Site]]:
    """Row of each panel's site (n,), and the sites.

    Reads width, height, outline and, where there are any, rails_y and keep_out of `panels`.
    """
    keys: dict[bytes, int] = {}
    sites: list[Site] = []
    index = np.empty(panels.n, dtype=np.int64)
    whole = rectangles(panels)
    size = np.column_stack([_floor(panels["width"]), _floor(panels["height"])])
    seen = _fingerprints(panels, size, whole, follow_rails)
    for row, key in enumerate(seen):
        if key not in keys:
            keys[key] = len(sites)
            sites.append(_site(panels, row, size[row], bool(whole[row]), follow_rails))
        index[row] = keys[key]
    return index, sites


def _fingerprints(panels: Table, size: Array, whole: NDArray[np.bool_], follow_rails: bool) -> list[bytes]:
    """Bytes by which raw sites are told apart, a panel each."""
    sizes = size.tobytes()
    parts = [sizes[16 * i : 16 * i + 16] if whole[i] else _floor(panels["outline"][i]).tobytes() for i in range(panels.n)]
    if follow_rails and "rails_y" in panels:
        rails = panels["rails_y"]
        parts = [p + b"r" + r for p, r in zip(parts, _slices(np.round(rails.values[:, 0] / _RAIL_ROUND), rails), strict=True)]
    if "keep_out" in panels:
        boxes = panels["keep_out"]
        parts = [p + b"k" + k for p, k in zip(parts, _slices(np.round(boxes.values / _BOX_ROUND), boxes), strict=True)]
    return parts


def _slices(values: Array, of: Ragged) -> list[bytes]:
    """Bytes of the values of each row of a ragged column."""
    data = np.ascontiguousarray(values + 0.0).tobytes()
    size = len(data) // max(len(values), 1)
    return [data[a * size : b * size] for a, b in itertools.pairwise(of.offsets.tolist())]


def rectangles(panels: Table) -> NDArray[np.bool_]:
    """(n,) True where the outline is its bounding rectangle, within 0.1 mm."""
    outline: Ragged = panels["outline"]
    rows, corners = outline.rows, outline.values
    size = np.column_stack([panels["width"], panels["height"]])[rows]
    off = np.minimum(np.abs(corners[:, :2]), np.abs(corners[:, :2] - size)).max(axis=1, initial=0.0)
    bad = (off > ROUND) | (corners[:, 2] != 0)
    return (outline.lengths == 4) & (np.bincount(rows[bad], minlength=panels.n) == 0)


def _floor(values: Array) -> Array:
    """Down to 0.1 mm, forgiving 0.004 mm: a layout that keeps its distance on the rounded rectangle keeps it on the panel."""
    return np.round(np.floor(np.asarray(values) / ROUND + 0.04) * ROUND, 1) + 0.0


def _site(panels: Table, row: int, size: Array, whole: bool, follow_rails: bool) -> Site:
    a, b = size.tolist()
    rings = [np.array([[0.0, 0.0], [a, 0.0], [a, b], [0.0, b]])] if whole else _rings(panels["outline"][row])
    boxes = _boxes(panels, row, a, b)
    rails = _rails(panels, row) if follow_rails else np.empty(0)
    if whole and not len(boxes):  # its own mirror image
        return Site((rings[0],), boxes, rails, False)
    width = float(rings[0][:, 0].max())
    image = [mirrored(r, width) for r in rings]
    turned = np.column_stack([width - boxes[:, 2], boxes[:, 1], width - boxes[:, 0], boxes[:, 3]])
    straight, other = _canonical(rings, boxes), _canonical(image, turned)
    flipped = _order(other) < _order(straight)
    best = other if flipped else straight
    return Site(best[0], best[1], rails, flipped)


def _rings(outline: Array) -> list[Array]:
    return [np.round(outline[outline[:, 2] == k, :2] / ROUND) * ROUND + 0.0 for k in np.unique(outline[:, 2])]


def _boxes(panels: Table, row: int, a: float, b: float) -> Array:
    boxes = panels["keep_out"][row] if "keep_out" in panels else np.empty((0, 4))
    inside = (boxes[:, 0] < a) & (boxes[:, 1] < b) & (boxes[:, 2] > 0) & (boxes[:, 3] > 0)
    return np.asarray(boxes[inside], dtype=float)


def _rails(panels: Table, row: int) -> Array:
    return np.unique(panels["rails_y"][row][:, 0]) if "rails_y" in panels else np.empty(0)


def _canonical(rings: list[Array], boxes: Array) -> tuple[tuple[Array, ...], Array]:
    """Rings counter-clockwise from their first vertex in x, y; further rings and boxes sorted."""
    outer, *inner = [_started(np.round(r, 3) + 0.0) for r in rings]
    return (outer, *sorted(inner, key=lambda r: r.ravel().tolist())), boxes[np.lexsort(boxes.T[::-1])]


def _started(ring: Array) -> Array:
    ring = ring if _twice_area(ring) > 0 else ring[::-1]
    return np.roll(ring, -int(np.lexsort((ring[:, 1], ring[:, 0]))[0]), axis=0)


def _twice_area(ring: Array) -> float:
    """Positive for rings that run counter-clockwise."""
    points = ring.tolist()  # a few corners: plain numbers are quicker than arrays
    return sum(x * q - p * y for (x, y), (p, q) in zip(points, points[1:] + points[:1], strict=True))


def _order(image: tuple[tuple[Array, ...], Array]) -> list[Any]:
    """What decides between two images: the numbers of rings, then of boxes, to a tenth of a millimetre."""
    return [np.round(r, 1).tolist() for r in image[0]] + [np.round(image[1], 1).tolist()]
