"""Cost of the wind rules: 100,000 panels, and 400,000 anchors of them.

    python -m tests.benchmarks.bench_wind
"""

from __future__ import annotations

import time

import numpy as np

from bimcheck.core.plan import Plan
from bimcheck.core.tables import Table
from tests.wind.build import Block, anchors_of, block_tables, plan_of

PANELS = 100_000
BUDGET = 0.5  # s for 100,000 panels


def tables(n: int) -> dict[str, Table]:
    """A slab block with n panels on its four sides."""
    side = Block(b=60.0, d=25.0, h=90.0, columns=(1.2, 0.9))
    some = block_tables(side)
    again = np.resize(np.arange(some["panels"].n), n)
    return {**some, "panels": some["panels"].take(again)}


def seconds(plan: Plan, phase: str, start: dict[str, Table]) -> tuple[float, dict[str, Table]]:
    """Best of three."""
    best, done = np.inf, start
    for _ in range(3):
        begin = time.perf_counter()
        done = plan.run(phase, start)
        best = min(best, time.perf_counter() - begin)
    return best, done


def main() -> None:
    for standard in ("en1991-1-4:2005", "asce7-16", "asce7-22"):
        plan = plan_of(standard)
        panels, done = seconds(plan, "panels", tables(PANELS))
        anchors, _ = seconds(plan, "wave", anchors_of(done))
        print(f"{standard:16s} {PANELS} panels {panels:.3f} s ({panels / BUDGET:.2f} of the budget), "
              f"{4 * PANELS} anchors {anchors:.3f} s")


if __name__ == "__main__":
    main()
