"""Patterns: grids of columns x rows, in waves of rising anchor count."""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.units import Array

Pattern = tuple[int, int]  # columns, rows


def parse(text: str) -> Pattern:
    """(columns, rows) of a pattern such as "3x2"; raises InputError for other text."""
    found = re.fullmatch(r"([1-9]\d?)x([1-9]\d?)", text.strip())
    if not found or min(map(int, found.groups())) < 2:
        raise InputError(f"'{text}' is no pattern", "[layout] patterns", 'write columns x rows, for example "3x2"')
    return int(found[1]), int(found[2])


def name(nx: int, ny: int) -> str:
    return f"{nx}x{ny}"


def waves(patterns: Iterable[Pattern], least: int = 0) -> list[tuple[int, list[Pattern]]]:
    """Patterns grouped by rising number of anchors, from `least` on."""
    counts: dict[int, list[Pattern]] = {}
    for nx, ny in patterns:
        if nx * ny >= least:
            counts.setdefault(nx * ny, []).append((nx, ny))
    return sorted(counts.items())


def beyond(patterns: Iterable[Pattern]) -> list[Pattern]:
    """The next patterns that are not permitted: one more column or row than the largest permitted ones."""
    permitted = set(patterns)
    more = {(nx + 1, ny) for nx, ny in permitted} | {(nx, ny + 1) for nx, ny in permitted}
    most = max((nx * ny for nx, ny in permitted), default=0)
    return sorted((p for p in more - permitted if p[0] * p[1] > most), key=lambda p: (p[0] * p[1], p))


def grid(a: float, b: float, nx: int, ny: int, ex: float, ey: float) -> Array:
    """(nx ny, 2) anchors on the rectangle a x b, row by row from below, insets ex and ey, equal spacing between."""
    x, y = np.linspace(ex, a - ex, nx), np.linspace(ey, b - ey, ny)
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)


def spread(low: Array, high: Array, n: int, step: float) -> Array:
    """(k, n) positions from low (k,) to high (k,), the inner ones at equal spacing rounded to `step` from each end.

    Rounding is symmetric: the mirror image of a row of positions is a row of positions.
    """
    share = np.arange(n) / (n - 1)
    span = (high - low)[:, None]
    left = round_half_up(span * np.minimum(share, 1 - share), step)
    out = np.where(share < 0.5, low[:, None] + left, high[:, None] - left)
    if n % 2:
        out[:, n // 2] = (low + high) / 2
    return out


def round_half_up(values: NDArray, step: float) -> Array:
    """Nearest multiple of step, halves upward; step 0 leaves the values alone."""
    return np.floor(np.asarray(values) / step + 0.5 + 1e-9) * step if step else np.asarray(values, dtype=float)
