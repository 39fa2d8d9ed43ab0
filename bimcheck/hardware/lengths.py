"""Depths and lengths: tolerances stacked at both extremes (common practice, no source)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from bimcheck.core.units import Array


def stack_worst_case(tolerances: Sequence[float]) -> float:
    """Sum of tolerances: every part at its limit."""
    return float(sum(tolerances))


def stack_rss(tolerances: Sequence[float]) -> float:
    """Root of the sum of squares: independent parts, for information only."""
    return math.sqrt(sum(t * t for t in tolerances))


def bolt_window(hole_depth: float, outside: float, engagement: float, clearance: float, tolerances: Sequence[float]) -> tuple[float, float]:
    """(least, greatest) length in mm of a bolt that engages enough thread and never bottoms.

    hole_depth: from the rear face.  outside: clip wall, washer (and nut) outside the rear face.  engagement: least
    thread.  clearance: least room to the bottom.  tolerances: plus-minus of depth, clip ..., stacked at their limits.
    """
    play = stack_worst_case(tolerances)
    return outside + engagement + play, outside + hole_depth - clearance - play


def longest_in(window: tuple[float, float], step: float, offered: Sequence[float] = ()) -> float:
    """Longest length on offer (or multiple of `step`) within the window; nan where none is."""
    least, greatest = window
    lengths = [x for x in offered if least - 1e-9 <= x <= greatest + 1e-9] if offered else [math.floor(greatest / step + 1e-9) * step]
    best = max(lengths, default=math.nan)
    return best if best >= least - 1e-9 else math.nan


def missing(window: tuple[float, float], step: float, offered: Sequence[float] = ()) -> float:
    """mm by which the nearest length on offer misses the window; 0 where one lies in it."""
    least, greatest = window
    lengths = list(offered) or [math.floor(greatest / step + 1e-9) * step, math.ceil(least / step - 1e-9) * step]
    return max(min(max(least - x, x - greatest, 0.0) for x in lengths), least - greatest, 0.0)


def back_off(turns: float, pitch: float) -> float:
    """Room in mm that a set screw leaves below it when it is backed off from the bottom of the hole."""
    return turns * pitch


def counterbore_depth(t: Array, t_lot: Array, from_front: Array) -> Array:
    """Flat recess of polished ungauged panels: t - t_min of the lot; 0 where depth is set from the rear face."""
    with np.errstate(invalid="ignore"):
        return np.where(from_front, np.maximum(np.nan_to_num(t - t_lot), 0.0), 0.0)
