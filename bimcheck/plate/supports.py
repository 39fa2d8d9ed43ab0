"""Forces of the anchors: the dense system of n anchors and the three rigid movements of the plate.

With f the flexibility of the pinned plate between anchors and p its deflection under unit pressure there,
    p_i - sum_j f_ij R_j + (1, x_i, y_i) c = R_i / k_i + settled_i,    sum_j R_j (1, x_j, y_j) = load's resultant.
Because the anchors balance the load, the pins carry nothing and the solution does not depend on them.
"""

from __future__ import annotations

import numpy as np

from bimcheck.plate.hermite import Array

IN_LINE = 1e-3  # spread of the anchors about their best line, as a share of the longest side, that is still a line


def mechanism(anchors: Array) -> Array:
    """(m,) True where anchors (m, n, 2) in plate units cannot hold the plate: fewer than three, or on one line."""
    if anchors.shape[1] < 3:
        return np.ones(len(anchors), dtype=bool)
    centred = anchors - anchors.mean(axis=1, keepdims=True)
    (xx, xy), (_, yy) = np.moveaxis(centred.transpose(0, 2, 1) @ centred, 0, -1) / anchors.shape[1]
    narrow = (xx + yy) / 2 - np.hypot((xx - yy) / 2, xy)
    return narrow < IN_LINE**2


def system(anchors: Array, flexibility: Array, softness: Array) -> Array:
    """(m, n + 3, n + 3) matrices; anchors (m, n, 2), flexibility (m, n, n), softness = D / k in plate units (m, n)."""
    m, n, _ = anchors.shape
    matrix = np.zeros((m, n + 3, n + 3))
    matrix[:, :n, :n] = flexibility
    matrix[:, np.arange(n), np.arange(n)] += softness
    matrix[:, :n, n] = matrix[:, n, :n] = -1.0
    matrix[:, :n, n + 1 :] = -anchors
    matrix[:, n + 1 :, :n] = -anchors.transpose(0, 2, 1)
    return matrix


def balance(matrix: Array, pressed: Array, resultant: Array) -> tuple[Array, Array]:
    """Reactions (m, n, ...) and rigid movements (m, 3, ...) for deflections `pressed` (m, n, ...) at the anchors and the
    loads' `resultant` (m, 3, ...)."""
    m, n = pressed.shape[:2]
    right = np.concatenate([pressed, -resultant], axis=1)
    columns = right.reshape(m, n + 3, -1)
    solution = np.linalg.solve(matrix, columns).reshape(right.shape)
    return solution[:, :n], solution[:, n:]
