"""Cost of reading panels as plates, against the geometry library's own way over the same panels in the same run.

    python -m tests.benchmarks.bench_read [panels]
"""

from __future__ import annotations

import gc
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.geom

from bimcheck.read.model import open_models
from bimcheck.read.settings import ReadSettings
from bimcheck.read.stage import read_models
from bimcheck.samples.tower import write_tower
from tests.read.bodies_ifc import plates_of

PANELS = 5_000
LEAST_RATIO = {"extrusion": 15.0, "brep": 8.0, "tessellation": 8.0, "mapped": 8.0}
CLASSES = ("IfcPlate", "IfcCovering", "IfcBuildingElementProxy")


def by_iterator(file: Any, numbers: list[int]) -> int:
    """How many bodies the default kernel meshes."""
    settings = ifcopenshell.geom.settings()
    iterator = ifcopenshell.geom.iterator(settings, file, 1, include=[file.by_id(i) for i in numbers])
    count, more = 0, iterator.initialize()
    while more:
        count += 1
        more = iterator.next()
    return count


def seconds(function: Callable[[], Any], times: int = 1) -> float:
    """Best of so many."""
    best = float("inf")
    for _ in range(times):
        gc.collect()
        begin = time.perf_counter()
        function()
        best = min(best, time.perf_counter() - begin)
    return best


def compare(path: Path, body: str, least: float) -> None:
    """Both from a file that is open, ours with the index of its text; own way before and after the usual one, since the
    machine may be shared."""
    file, settings = ifcopenshell.open(str(path)), ReadSettings()
    opened = open_models([path], settings)[0]
    numbers = [e.id() for cls in CLASSES for e in file.by_type(cls)]
    assert by_iterator(file, numbers[:100]) == 100
    before = seconds(lambda: plates_of(opened, numbers, settings), 2)
    usual = seconds(lambda: by_iterator(file, numbers))
    own = min(before, seconds(lambda: plates_of(opened, numbers, settings), 2))
    whole = seconds(lambda: read_models([path]))
    print(f"{body:13s} {len(numbers)} panels: plates {own:.3f} s, default kernel {usual:.2f} s, {usual / own:.1f} times faster "
          f"(at least {least:.0f} wanted); all of reading {whole:.2f} s", flush=True)


def main(panels: int = PANELS) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for body, least in LEAST_RATIO.items():
            path = write_tower(Path(folder) / f"{body}.ifc", panels, body=body)
            compare(path, body, least)


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:2]))
