"""Plates described by words: corner or inset supports on rectangles, supports on a grid."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from typing import Any

import numpy as np

from bimcheck.core import units
from bimcheck.plate.fineness import cells_for
from bimcheck.plate.points import solve, values_at
from bimcheck.plate.rigidity import flexural_rigidity
from bimcheck.plate.shape import Plate, build

Inputs = dict[str, Any]
SHORT, LONG = 0, 1  # components Mx, My: the short side is laid along x


def _plate(inputs: Inputs) -> tuple[Plate, np.ndarray, float]:
    """A rectangle with short side 1 along x, its four supports, and its long side."""
    b = inputs.get("b_over_a", 1.0)
    inset = inputs.get("inset_over_a", 0.0)
    rectangle = np.array([[0, 0], [1, 0], [1, b], [0, b]], dtype=float)
    anchors = np.array(list(product((inset, 1 - inset), (inset, b - inset))))
    return _built(rectangle, anchors, inputs), anchors, b


def _built(rectangle: np.ndarray, anchors: np.ndarray, inputs: Inputs) -> Plate:
    return build([rectangle], inputs["nu"], int(cells_for([rectangle], [anchors])[0]))


def _deflection(x: float, y: float) -> Callable[[Inputs], float]:
    def value(inputs: Inputs) -> float:
        plate, anchors, b = _plate(inputs)
        return float(values_at(plate, anchors, np.array([[x, y * b]]))[0][0])
    return value


def _moment(x: float, y: float, component: int) -> Callable[[Inputs], float]:
    def value(inputs: Inputs) -> float:
        plate, anchors, b = _plate(inputs)
        return float(values_at(plate, anchors, np.array([[x, y * b]]))[1][0, component])
    return value


def _largest_moment(inputs: Inputs) -> float:
    plate, anchors, _ = _plate(inputs)
    return float(solve(plate, anchors).m_field[0])


def _largest_deflection(inputs: Inputs) -> float:
    plate, anchors, _ = _plate(inputs)
    return float(solve(plate, anchors).w_max[0])


def _supports_on_a_grid(inputs: Inputs) -> float:
    metre = units.factor("m")
    lx, ly = inputs["Lx_m"] * metre, inputs["Ly_m"] * metre
    rectangle = np.array([[0, 0], [lx, 0], [lx, ly], [0, ly]])
    anchors = np.array(list(product(inputs["supports_x"], inputs["supports_y"]))) * metre
    at = np.array([[inputs["x_m"], inputs["y_m"]]]) * metre
    rigidity = flexural_rigidity(inputs["E_MPa"], inputs["t_mm"], inputs["nu"])
    w, _ = values_at(_built(rectangle, anchors, inputs), anchors, at)
    return float(w[0] * inputs["q_kPa"] * units.factor("kPa") / rigidity)


QUANTITIES: dict[str, Callable[[Inputs], float]] = {
    "w_center": _deflection(0.5, 0.5),
    "w_midedge": _deflection(0.5, 0.0),
    "w_mid_long_edge": _deflection(0.0, 0.5),
    "w_mid_short_edge": _deflection(0.5, 0.0),
    "w_corner": _deflection(0.0, 0.0),
    "M_center": _moment(0.5, 0.5, SHORT),
    "M_midedge": _moment(0.5, 0.0, SHORT),
    "M_center_short_span": _moment(0.5, 0.5, SHORT),
    "M_center_long_span": _moment(0.5, 0.5, LONG),
    "M_mid_long_edge": _moment(0.0, 0.5, LONG),
    "M_mid_short_edge": _moment(0.5, 0.0, SHORT),
    "M_max_four_points_glass_table": _largest_moment,
    "w_max_four_points_glass_table": _largest_deflection,
    "w_point_supported_grid": _supports_on_a_grid,
}
