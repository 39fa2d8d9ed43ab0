"""Cost and quality of layout: python -m tests.benchmarks.bench_layout [tower | optimum SEED COUNT]

tower: 20,000 panels of about 1,500 shapes on four facades; layout and selection, plates from a cold and a warm cache.
optimum: random panels against every position on the 5 mm grid.
"""

from __future__ import annotations

import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.layout.parts import cores
from bimcheck.layout.settings import Layout
from bimcheck.layout.waves import run
from bimcheck.plate.envelope import layouts
from tests.layout import plain
from tests.layout.exhaustive import optimum, random_panels


def tower(shapes: int, n: int = 20_000, seed: int = 0) -> Table:
    """Rectangles of 30 mm granite; suction by height and distance to the corner."""
    rng = np.random.default_rng(seed)
    sizes = np.round(np.column_stack([rng.uniform(500, 1500, shapes), rng.uniform(400, 1200, shapes)]))
    pick = rng.integers(0, shapes, n)
    return plain.panels([plain.rectangle(*s) for s in sizes[pick]], w_suction=-np.round(rng.uniform(0.8e-3, 5.0e-3, n), 5),
                        facade_index=rng.integers(0, 4, n), f_d=5.5, R_k=4000.0)


def bench_tower() -> None:
    for shapes in (12, 1500):
        panels = tower(shapes)
        for processes in (1, cores()):
            where = Path(tempfile.mkdtemp())
            for cache in ("cold", "warm"):
                begin, before = time.perf_counter(), _processor()
                s = run({"panels": panels, "facades": plain.facades()}, Layout(), partial(layouts, where=where, processes=1), plain.evaluate,
                        plain.CHECKS, processes=processes)
                whole, used = time.perf_counter() - begin, _processor() - before
                passing = np.mean(s.tables["panels"]["u_layout"] <= 1)
                print(f"{shapes} shapes, {cache} plates, {processes} processes: {whole:.2f} s, processor {used:.2f} s; {s.counts}, "
                      f"{100 * passing:.1f} % pass, anchors {s.tables['panels']['n_anchors_selected'].sum()}")
            shutil.rmtree(where)


def _processor() -> float:
    """Seconds of this process and those it has started."""
    return sum(u.ru_utime + u.ru_stime for u in map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)))


def bench_optimum(seed: int, count: int) -> None:
    panels, settings = random_panels(seed, count, 650.0), Layout(standardise="none")
    s = run({"panels": panels, "facades": plain.facades()}, settings, plain.solve, plain.evaluate, plain.CHECKS)
    done, ratios, other = s.tables["panels"], [], 0
    for row in range(count):
        best = optimum(panels, row, settings)
        if best.n != (done["n_anchors_selected"][row] if done["u_layout"][row] <= 1 else 0):
            other += 1
        elif best.n:
            ratios.append(done["u_layout"][row] / best.u)
    print(f"seed {seed}: {count} panels, {other} with another number of anchors, "
          f"utilisation over optimum: mean {np.mean(ratios):.4f}, greatest {np.max(ratios):.4f}")


def main(arguments: Sequence[str]) -> None:
    if arguments and arguments[0] == "optimum":
        bench_optimum(int(arguments[1]), int(arguments[2]))
    else:
        bench_tower()


if __name__ == "__main__":
    main(sys.argv[1:])
