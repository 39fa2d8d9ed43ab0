"""Plates of any outline on any anchors: reactions, moments at anchors, deflections."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from bimcheck.plate.fineness import cells_for
from bimcheck.plate.points import solve, values_at
from bimcheck.plate.shape import Plate, build
from bimcheck.plate.solutions import Solutions

Inputs = dict[str, Any]


def _plate(inputs: Inputs) -> Plate:
    rings = [np.array(ring, dtype=float) for ring in (inputs["outline"], *inputs.get("holes", []))]
    cells = cells_for(rings, [np.array(inputs["anchors"], dtype=float)])
    return build(rings, inputs["nu"], int(cells[0]))


def _spring(inputs: Inputs) -> float:
    """k / D."""
    k = inputs.get("k", "rigid")
    return np.inf if k == "rigid" else k / inputs.get("D", 1)


def _solved(inputs: Inputs) -> Solutions:
    return solve(_plate(inputs), np.array(inputs["anchors"], dtype=float), spring=_spring(inputs))


def reaction(inputs: Inputs) -> float:
    return float(inputs.get("q", 1) * _solved(inputs).reaction[inputs["index"]])


def anchor_moment(inputs: Inputs) -> float:
    return float(inputs.get("q", 1) * _solved(inputs).anchor_moment(inputs["disc_radius"])[inputs["index"]])


def deflection(inputs: Inputs) -> float:
    anchors, at = (np.array(inputs[name], dtype=float) for name in ("anchors", "at"))
    w, _ = values_at(_plate(inputs), anchors, at, spring=_spring(inputs))
    return float(inputs.get("q", 1) / inputs.get("D", 1) * w[0])


QUANTITIES: dict[str, Callable[[Inputs], float]] = {
    "reaction": reaction, "anchor_moment": anchor_moment, "deflection": deflection,
}
