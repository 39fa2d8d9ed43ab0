"""Cost of the issue workbook: python -m tests.benchmarks.bench_workbook [issues]

100,000 issues (what a sheet holds well within its limits) reconciled, written, read back and reconciled again; processor
seconds.  Floor: 60 s by the clock for writing.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bimcheck.core.issue import Issue, issue_table
from bimcheck.reconcile.states import reconcile
from bimcheck.write.workbook_issues import read_typed, write_issues_workbook
from tests.reconcile.made import elements
from tests.write.test_workbook_issues import made


def found(n: int) -> list[Issue]:
    """Joints and clashes in 100 groups, each with its own place, figure and way out."""
    return [Issue("joint-width" if k % 2 else "anchor-clash", "error", f"joint right is {k % 50 / 10} mm wide, 5 mm are required", panel=k % 3,
                  other_panel=(k + 1) % 3, measured=k % 50 / 10, required=5.0, unit="mm", group=f"{k % 50 / 10} mm", key=str(k), x=1000.0 + k, y=200.0,
                  z=35.5 * k, way_out="widen by 2.5 mm") for k in range(n)]


def timed(what: str, work: Callable[[], Any]) -> Any:
    start = time.process_time()
    done = work()
    print(f"{what:<40} {time.process_time() - start:6.2f} s")
    return done


def main(n: int = 100_000) -> None:
    whole, issues = elements(), issue_table(found(n))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "issues.xlsx"
        first = timed(f"reconcile {n} issues", lambda: reconcile(issues, whole))
        timed("write the workbook", lambda: write_issues_workbook(path, made(first, whole)))
        typed = timed("read what people typed", lambda: read_typed(path))
        second = timed("reconcile with the last run", lambda: reconcile(issues, whole, first, typed))
        timed("write it again", lambda: write_issues_workbook(path, made(second, whole)))
        print(f"{path.stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
