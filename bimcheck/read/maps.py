"""Mapped items read in one batch: what they show once, and where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.steptext import Step
from bimcheck.read.bodies import operators
from bimcheck.read.place import X, Z, axes_of, directions, matrices, points

Floats = NDArray[Any]  # of float64
Ints = NDArray[np.int64]
OPERATOR = "IFCCARTESIANTRANSFORMATIONOPERATOR3D"


@dataclass(frozen=True)
class Maps:
    """item: (n,) the one item that each mapped item shows, 0 where there are several or it is no plain map; matrix: (n, 4, 4)
    from the item's frame to where it is shown, mm."""

    item: Ints
    matrix: Floats


def maps(step: Step, factor: float, items: Ints) -> Maps:
    """Items by number, of any kind."""
    mapped, ok = step.columns(items, "IFCMAPPEDITEM", 2)
    if not ok.any():
        return Maps(np.zeros(len(items), dtype=np.int64), np.broadcast_to(np.eye(4), (len(items), 4, 4)))
    source, known = step.columns(mapped[:, 0], "IFCREPRESENTATIONMAP", 2)
    shown, single = step.columns(source[:, 1], "IFCSHAPEREPRESENTATION", 4)
    target, even = step.columns(mapped[:, 1], OPERATOR, 5)
    axes, (origin, placed) = axes_of(step, source[:, 0]), points(step, target[:, 2])
    given = [directions(step, target[:, k], default) for k, default in ((0, X), (1, (0.0, 0.0, 0.0)), (4, Z))]
    ok &= known & single & even & axes.ok & placed & np.isfinite(shown[:, 3]) & np.all([fits for _, fits in given], axis=0)
    scale = np.where(np.isnan(target[:, 3]) | (target[:, 3] == 0), 1.0, target[:, 3])
    x, y, z = (np.where(ok[:, None], v, default) for (v, _), default in zip(given, (X, 0.0, Z), strict=True))
    own = matrices(axes.location * factor, axes.axis, axes.ref)
    own[~ok] = np.eye(4)
    matrix = operators(x, y, z, origin * factor, np.repeat(scale[:, None], 3, axis=1)) @ np.linalg.inv(own)
    return Maps(np.where(ok, shown[:, 3], 0).astype(np.int64), matrix)
