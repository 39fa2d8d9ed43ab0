"""Rates of the plate engine against the floors the project promises; run as a script, one core for the rates.

    OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.bench_plate
Exit status 1 where a floor is missed.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from bimcheck.plate.jobs import Job, solve_shapes
from bimcheck.plate.points import solve, solve_many
from bimcheck.plate.shape import build

Array = np.ndarray


def rectangle(w: float, h: float) -> list[Array]:
    return [np.array([[0, 0], [w, 0], [w, h], [0, h]])]


def rows(w: float, h: float, nx: int, ny: int, inset_x: float, inset_y: float) -> Array:
    x, y = np.linspace(inset_x, w - inset_x, nx), np.linspace(inset_y, h - inset_y, ny)
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


def four_layouts(w: float, h: float) -> list[Array]:
    counts = ((2, 2, 0.15), (2, 2, 0.2), (3, 2, 0.12), (3, 3, 0.12))
    return [rows(w, h, nx, ny, max(60.0, part * w), max(60.0, part * h)) for nx, ny, part in counts]


def tower(shapes: int = 1500) -> list[Job]:
    """Invented: rectangles 600 to 1800 by 400 to 1500 mm, four layouts each, every twelfth with a cut-out."""
    random = np.random.default_rng(7)
    jobs = []
    for k in range(shapes):
        w, h = (float(v) for v in (random.integers(600, 1800), random.integers(400, 1500)))
        rings = rectangle(w, h)
        if k % 12 == 0:
            rings += [np.array([[0.4, 0.4], [0.6, 0.4], [0.6, 0.6], [0.4, 0.6]]) * [w, h] + 0.3]
        jobs.append(Job(rings, 0.2, four_layouts(w, h) if len(rings) == 1 else four_layouts(w, h)[:3]))
    return jobs


def seconds(work: Callable[[], object], times: int = 40) -> float:
    work()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return float(np.median(taken))


def report(name: str, value: float, floor: float, unit: str, more_is_better: bool) -> bool:
    good = value >= floor if more_is_better else value <= floor
    print(f"{name:58s} {value:9.2f} {unit:9s} {'>=' if more_is_better else '<='} {floor:g}  {'ok' if good else 'MISSED'}")
    return good


def rates() -> list[bool]:
    panel, square = rectangle(1200.0, 600.0), rectangle(1200.0, 1200.0)
    anchors, corner = rows(1200.0, 600.0, 2, 2, 180.0, 90.0), rows(1200.0, 1200.0, 2, 2, 180.0, 180.0)
    pierced = [*panel, np.array([[500.0, 200.0], [700.0, 200.0], [700.0, 400.0], [500.0, 400.0]])]
    plate, others = build(panel, 0.2), [rows(1200.0, 600.0, 2, 2, x, 90.0) for x in np.linspace(100.0, 300.0, 16)]
    return [
        report("rectangle 2:1, build to moments, one layout", 1 / seconds(lambda: solve(build(panel, 0.2), anchors)), 200, "per s", True),
        report("square, build to moments, one layout", 1 / seconds(lambda: solve(build(square, 0.2), corner)), 200, "per s", True),
        report("another layout on a solved shape (of sixteen)", 1e3 * seconds(lambda: solve_many(plate, others)) / 16, 0.5, "ms", False),
        report("polygon with cut-out, build to moments", 1e3 * seconds(lambda: solve(build(pierced, 0.2), anchors), 15), 30, "ms", False),
    ]


def whole_tower() -> list[bool]:
    jobs = tower()
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        solve_shapes(jobs, where=Path(folder))
        cold = time.perf_counter() - start
        warm = seconds(lambda: solve_shapes(jobs, where=Path(folder)), 3)
    layouts = sum(len(job.layouts) for job in jobs)
    return [report(f"{len(jobs)} shapes, {layouts} layouts, cold, {os.cpu_count()} cores", cold, 8, "s", False),
            report(f"{len(jobs)} shapes, {layouts} layouts, warm", warm, 0.3, "s", False)]


if __name__ == "__main__":
    sys.exit(0 if all([*rates(), *whole_tower()]) else 1)
