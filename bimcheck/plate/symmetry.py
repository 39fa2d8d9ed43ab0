"""Layouts on rectangles that are their own image in a mirror line: under pressure so is everything about them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.plate.group import Group
from bimcheck.plate.hermite import Array, Index
from bimcheck.plate.layouts import Layouts

SAME = 1e-9  # plate units


@dataclass(frozen=True)
class Symmetry:
    """lines (m, 2): whether a layout is its own image across x = middle, y = middle.  partner (anchors, 2): the image of
    each anchor among those of its layout, itself where the layout has no such line."""

    lines: NDArray[np.bool_]
    partner: Index
    owner: Index

    def where(self, kept: NDArray[np.bool_]) -> Symmetry:
        """Only the lines of kept (m, 2)."""
        lines = self.lines & kept
        return Symmetry(lines, np.where(lines[self.owner], self.partner, -1), self.owner)

    def closed(self, flexibility: Array, places: Index) -> Array:
        """Flexibility (k, n, n) between the anchors at places (k, n), made regular where parts were not solved.

        What is odd across a line that all layouts of a plate share is left out of the plate's flexibility; the
        reactions have no such part, so that any stiffness will do for it.
        """
        n = places.shape[1]
        even = np.broadcast_to(np.eye(n), flexibility.shape)
        for line in (0, 1):
            image = np.where(self.partner[places, line] < 0, np.arange(n), self.partner[places, line])
            even = (even + np.take_along_axis(even, image[:, :, None], axis=1)) / 2
        scale = np.trace(flexibility, axis1=1, axis2=2) / n
        return flexibility + scale[:, None, None] * (np.eye(n) - even)


def symmetry(group: Group, layouts: Layouts) -> Symmetry:
    """The lines that layouts on whole rectangles share with these."""
    lines = np.zeros((len(layouts.counts), 2), dtype=bool)
    partner = np.full((len(layouts.owner), 2), -1, dtype=np.int64)
    grid = group.grid
    side = np.stack(np.broadcast_arrays(grid.hx * grid.nx, grid.hy * grid.ny), axis=-1) * np.ones((len(lines), 1))
    for n in np.unique(layouts.counts[layouts.counts > 0]):
        rows, places = layouts.of_count(int(n))
        at = layouts.points[layouts.which[places]]
        for line in (0, 1):
            image = at.copy()
            image[..., line] = side[rows, None, line] - at[..., line]
            same = np.logical_and.reduce(np.abs(image[:, :, None] - at[:, None]) < SAME, axis=3)
            lines[rows, line] = np.logical_and.reduce(np.logical_or.reduce(same, axis=2), axis=1)
            partner[places, line] = np.where(lines[rows, line, None], np.argmax(same, axis=2), -1)
    return Symmetry(lines, partner, layouts.owner)


def nothing_alike(layouts: Layouts) -> Symmetry:
    """No line at all."""
    return Symmetry(np.zeros((len(layouts.counts), 2), dtype=bool), np.full((len(layouts.owner), 2), -1, dtype=np.int64), layouts.owner)
