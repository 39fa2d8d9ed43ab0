"""Outlines and layouts that several tests use, in mm."""

from __future__ import annotations

from itertools import product

import numpy as np

Array = np.ndarray


def box(x0: float, y0: float, x1: float, y1: float) -> Array:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def grid(xs: list[float], ys: list[float]) -> Array:
    return np.array(list(product(xs, ys)), dtype=float)


def moved(rings: list[Array], x: float, y: float) -> list[Array]:
    return [ring + np.array([x, y]) for ring in rings]


PANEL = [box(0, 0, 1200, 600)]
SQUARE = [box(0, 0, 900, 900)]
NOTCHED = [np.array([[0, 0], [1200, 0], [1200, 540], [600, 540], [600, 1080], [0, 1080]], dtype=float)]
PIERCED = [box(0, 0, 1200, 720), box(480, 240, 720, 480)]
GABLE = [np.array([[0, 0], [1000, 0], [750, 600], [100, 600]], dtype=float)]

FOUR = grid([180, 1020], [90, 510])
SIX = grid([150, 600, 1050], [90, 510])
NINE = grid([150, 600, 1050], [80, 300, 520])
CROOKED = np.array([[160, 95], [1010, 80], [1060, 470], [220, 515], [580, 260]], dtype=float)

CASES = {
    "panel-4": (PANEL, FOUR), "panel-6": (PANEL, SIX), "panel-9": (PANEL, NINE), "panel-crooked": (PANEL, CROOKED),
    "notched": (NOTCHED, np.array([[144, 120], [1056, 120], [1056, 420], [144, 960], [480, 960], [480, 480]], dtype=float)),
    "pierced": (PIERCED, grid([180, 1020], [120, 600])),
    "gable": (GABLE, np.array([[150, 100], [850, 100], [700, 500], [180, 500]], dtype=float)),
}
