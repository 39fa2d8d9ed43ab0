"""Where the coefficients of a grid stand in the banded matrix: depends on the numbers of cells alone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import sparse

from bimcheck.plate.hermite import Index


@dataclass(frozen=True)
class Topology:
    """Numbering of an nx by ny grid.

    number: (2 nx + 2, 2 ny + 2) row of each tensor degree of freedom.  cells: (nx ny, 16) rows of each cell.
    band: sub-diagonals.  entry: (nx ny, 256) position of a cell's entries among the stored ones (`size` for those above
    the diagonal).  place: (size,) position of the stored entries in the (band + 1, n) array, column-major.
    full: (size, 256) sparse, sums equal cells into the stored entries.
    """

    number: Index
    cells: Index
    band: int
    entry: Index
    place: Index
    full: sparse.csr_matrix

    @property
    def n(self) -> int:
        return self.number.size


@lru_cache(maxsize=64)
def topology(nx: int, ny: int) -> Topology:
    """Nodes are numbered along the shorter side first, so that the band is as narrow as it gets."""
    number = _number(nx, ny)
    i, j = np.meshgrid(2 * np.arange(nx), 2 * np.arange(ny), indexing="ij")
    a, b = np.meshgrid(np.arange(4), np.arange(4), indexing="ij")
    cells = number[i.reshape(-1, 1) + a.ravel(), j.reshape(-1, 1) + b.ravel()]
    row, column = np.repeat(cells, 16, axis=1), np.tile(cells, (1, 16))
    lower = row >= column
    band = int((row - column).max())
    place, entry_lower = np.unique(((row - column) + column * (band + 1))[lower], return_inverse=True)
    entry = np.full(row.shape, len(place), dtype=np.int64)
    entry[lower] = entry_lower
    local = np.broadcast_to(np.arange(256), row.shape)[lower]
    full = sparse.csr_matrix((np.ones(len(local)), (entry_lower, local)), shape=(len(place), 256))
    return Topology(number, cells, band, entry, place, full)


def _number(nx: int, ny: int) -> Index:
    """Four coefficients a node, nodes counted along the shorter side first."""
    i, j = np.meshgrid(np.arange(2 * nx + 2), np.arange(2 * ny + 2), indexing="ij")
    node = (i // 2) * (ny + 1) + j // 2 if nx >= ny else (j // 2) * (nx + 1) + i // 2
    return 4 * node + 2 * (i % 2) + j % 2
