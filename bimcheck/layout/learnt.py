"""What solved layouts say about the estimates around them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.units import Array

Index = NDArray[np.int64]
VALUES = 4  # moments at anchors and in the field, deflections, shares
_NEAR = 0.25  # square of half a position: what a solved layout counts at its own place


@dataclass(frozen=True)
class Learnt:
    """Solved positions at (s, 2) of families (s,), rising, and logarithms (s, 4) of solved over estimated values."""

    family: Index
    at: Array
    logs: Array

    @staticmethod
    def nothing() -> Learnt:
        return Learnt(np.empty(0, dtype=np.int64), np.empty((0, 2)), np.empty((0, VALUES)))

    def plus(self, family: Index, at: Array, logs: Array) -> Learnt:
        every = np.concatenate([self.family, family])
        order = np.argsort(every, kind="stable")
        return Learnt(every[order], np.concatenate([self.at, at])[order], np.concatenate([self.logs, logs])[order])

    def factors(self, family: Index, at: Array) -> Array:
        """(k, 4) corrections at positions (k, 2): means weighted by the inverse square of the distance, 1 where nothing is known."""
        first = np.searchsorted(self.family, family, side="left")
        count = np.searchsorted(self.family, family, side="right") - first
        total, weight = np.zeros((len(family), VALUES)), np.zeros(len(family))
        for k in range(int(count.max(initial=0))):  # one after the other: the sum must not depend on what else is asked
            rows = np.flatnonzero(count > k)
            place = first[rows] + k
            near = 1 / (np.square(at[rows] - self.at[place]).sum(axis=1) + _NEAR)
            total[rows] += near[:, None] * self.logs[place]
            weight[rows] += near
        return np.exp(total / np.where(weight > 0, weight, 1.0)[:, None])
