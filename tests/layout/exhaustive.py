"""Every position on the 5 mm grid, solved and judged: the optimum that the search is held against."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.layout.batch import solved, tables
from bimcheck.layout.classes import Classes, classes_of
from bimcheck.layout.patterns import parse, waves
from bimcheck.layout.settings import Layout
from tests.layout import plain


@dataclass(frozen=True)
class Optimum:
    n: int
    u: float


def positions(low: float, high: float, side: float, k: int, spacing: float) -> np.ndarray:
    """(m, k) symmetric positions on the 5 mm grid: inset a multiple of 5, spacing equal, inner ones rounded to 5 mm."""
    out = []
    for inset in np.arange(np.ceil(low / 5) * 5, high + 1e-9, 5):
        inner = [inset + 5 * np.floor((side - 2 * inset) * i / (k - 1) / 5 + 0.5) for i in range((k + 1) // 2)]
        row = np.array([*inner, *(side - v for v in inner[: k // 2][::-1])])
        row[k // 2] = side / 2 if k % 2 else row[k // 2]
        if np.diff(row).min() >= spacing - 1e-9:
            out.append(row)
    return np.array(out).reshape(-1, k)


def optimum(panels: Table, row: int, settings: Layout) -> Optimum:
    """Fewest anchors that pass on any position, and the least utilisation with them."""
    one = panels.take(np.array([row]))
    _, classes = classes_of(one, settings, 10e3)
    (a, b), edge = classes[0].site.size, classes[0].edge
    for n, patterns in waves([parse(p) for p in settings.patterns], settings.least_anchors):
        layouts = []
        for nx, ny in patterns:
            xs = positions(edge[0], settings.edge_share_max * a, a, nx, classes[0].spacing)
            ys = positions(edge[1], settings.edge_share_max * b, b, ny, classes[0].spacing)
            layouts += [np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2) for x in xs for y in ys]
        if layouts:
            best = float(np.min(_utilisations(one, classes, np.array(layouts))))
            if best <= 1:
                return Optimum(n, best)
    return Optimum(0, np.inf)


def _utilisations(one: Table, classes: Classes, points: np.ndarray) -> np.ndarray:
    m = len(points)
    zero = np.zeros(m, dtype=np.int64)
    batch = solved(classes, zero, np.zeros((m, 2), dtype=np.int64), points, plain.solve)
    done = plain.evaluate(tables(one, plain.facades(), batch, zero, np.arange(m)))
    anchors = np.max([done["anchors"][k].reshape(m, -1).max(axis=1) for k in plain.CHECKS["anchors"]], axis=0)
    return np.maximum(done["candidates"]["u_bending"], anchors)


def random_panels(seed: int, k: int, largest: float = 800.0) -> Table:
    """k rectangles with random sizes, pressures, strengths, resistances and thicknesses."""
    rng = np.random.default_rng(seed)
    sizes = np.round(rng.uniform(350, largest, (k, 2)), 1)
    t = rng.choice([9.5, 18.0, 28.5], k)
    return plain.panels(
        [plain.rectangle(*s) for s in sizes], t_min=t, nu=rng.choice([0.15, 0.2, 0.25], k),
        w_suction=-rng.uniform(1e-3, 18e-3, k) * (t / 20) ** 1.5, w_pressure=0.4e-3, f_d=rng.uniform(2.5, 12, k),
        R_k=rng.uniform(800, 6000, k), undercut_radius=rng.choice([4.0, 5.0, 6.5], k), edge_min_item=rng.choice([40.0, 50.0, 60.0], k),
    )
