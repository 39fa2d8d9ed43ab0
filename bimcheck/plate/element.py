"""Stiffness and load of a cell that the outline may cut, exact from the monomial moments of what is left of it.

The energy 1/2 [w_xx^2 + w_yy^2 + 2 nu w_xx w_yy + 2 (1 - nu) w_xy^2] (D = 1) of bicubic functions is a polynomial of
degree 6 in each direction: 49 moments of the polygon hold every integral.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from bimcheck.plate.hermite import CUBICS, DERIVATIVES, Array

DEGREE = 6  # of the energy in s and in t
FULL = 1.0 / np.outer(np.arange(1, DEGREE + 2), np.arange(1, DEGREE + 2))  # moments of the unit cell


@cache
def _products(first: int, second: int) -> Array:
    """(4, 4, 7) coefficients of the products of two derivatives of the cubics."""
    a, b = DERIVATIVES[first].T, DERIVATIVES[second].T
    out = np.zeros((4, 4, DEGREE + 1))
    for p in range(4):
        for q in range(4):
            out[:, :, p + q] += np.outer(a[:, p], b[:, q])
    return out


def _term(x: tuple[int, int], y: tuple[int, int]) -> Array:
    """(49, 256) moments -> integral of a product of two mixed derivatives over the unit cell."""
    out = np.einsum("acp,bdq->pqabcd", _products(*x), _products(*y))
    return out.reshape((DEGREE + 1) ** 2, 256)


@cache
def _terms() -> Array:
    """(4, 49, 256) the terms xx.xx, yy.yy, xx.yy + yy.xx and xy.xy."""
    mixed = _term((2, 0), (0, 2)) + _term((0, 2), (2, 0))
    return np.stack([_term((2, 2), (0, 0)), _term((0, 0), (2, 2)), mixed, _term((1, 1), (1, 1))])


def _scales(hx: Array | float, hy: Array | float, nu: float) -> Array:
    """(..., 4) factors of the four terms for cells hx by hy."""
    return np.stack([hy / hx**3, hx / hy**3, nu / (hx * hy), 2 * (1 - nu) / (hx * hy)], axis=-1)


@cache
def _full_terms() -> Array:
    return np.einsum("p,kpe->ke", FULL.ravel(), _terms())


def full_stiffness(hx: Array | float, hy: Array | float, nu: float) -> Array:
    """(..., 256) stiffness of uncut cells hx by hy, D = 1."""
    return _scales(hx, hy, nu) @ _full_terms()


def stiffness(moments: Array, hx: Array, hy: Array, nu: float) -> Array:
    """(m, 256) stiffness of cut cells hx by hy (m,) from their (m, 7, 7) moments, D = 1."""
    parts = moments.reshape(-1, (DEGREE + 1) ** 2) @ _terms()
    return np.einsum("mk,kme->me", _scales(hx, hy, nu), parts)


def load(moments: Array) -> Array:
    """(m, 16) work of a unit pressure over the cell's area from (m, 7, 7) moments."""
    return (CUBICS @ moments[:, :4, :4] @ CUBICS.T).reshape(-1, 16)
