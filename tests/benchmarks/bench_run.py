"""The whole run of a tower beside opening and re-writing the same file, fresh processes in turn, imports included.

    python -m tests.benchmarks.bench_run [PANELS] [ROUNDS]

Floor: run / (open + write) <= 3.0; peak memory <= 2.0 times that of opening.  Prints ratios, never judges by seconds.
Peak memory is that of whole processes, writing included.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from bimcheck.project_text import project_text
from bimcheck.samples.tower import write_tower

OPEN_WRITE = "import ifcopenshell, sys; ifcopenshell.open(sys.argv[1]).write(sys.argv[2])"
OPEN = "import ifcopenshell, sys; ifcopenshell.open(sys.argv[1])"


def timed(words: list[str], env: dict[str, str]) -> tuple[float, float]:
    """Seconds, and peak memory in MB of the process or of the largest that it started."""
    start = time.perf_counter()
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=env)
    _, _, used = os.wait4(process.pid, 0)
    process.returncode = 0
    return time.perf_counter() - start, used.ru_maxrss / 1024


def main(panels: int, rounds: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        model, project = folder / "tower.ifc", folder / "project.toml"
        write_tower(model, panels=panels, unique_shapes=max(40, panels * 3 // 40))
        project.write_text(project_text(True))
        peak_open = timed([sys.executable, "-c", OPEN, str(model)], dict(os.environ))[1]
        base, cold, warm, peak, facts = [], [], [], 0.0, {}
        for i in range(rounds):
            env = {**os.environ, "BIMCHECK_CACHE_DIR": str(folder / f"cache{i}"), "OPENBLAS_NUM_THREADS": "1"}
            base.append(timed([sys.executable, "-c", OPEN_WRITE, str(model), str(folder / "again.ifc")], env)[0])
            for times in (cold, warm):
                out = folder / f"out{i}{len(cold)}{len(warm)}"
                seconds, memory = timed([sys.executable, "-m", "bimcheck", "run", str(model), "-p", str(project), "-o", str(out), "--quiet"], env)
                times.append(seconds)
                peak = max(peak, memory)
                facts = json.loads((out / "run.json").read_text())
        b, c, w = (statistics.median(x) for x in (base, cold, warm))
        print(f"{panels} panels, {facts['layout']}, {facts['results']}")
        print(f"open + write {b:.2f} s; run cold {c:.2f} s, warm {w:.2f} s")
        print(f"ratio cold {c / b:.2f} (floor 3.0, goal 1.5), warm {w / b:.2f} (goal 0.8)")
        print(f"peak memory {peak:.0f} MB, opening {peak_open:.0f} MB: ratio {peak / peak_open:.2f} (floor 2.0, goal 1.5)")
        print("stages of the last (warm) run:", facts["seconds"])


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20000, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
