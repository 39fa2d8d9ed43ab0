"""docs/verification.md from the check values the tests carry: python -m tests.verification.page"""

from __future__ import annotations

import csv
from collections import Counter

from tests.shared import ROOT

DATA = ROOT / "tests" / "verification" / "data"


def text() -> str:
    """A row a topic, quantity and source: how many values are checked, and how they are known."""
    lines = ["<!-- made by `python -m tests.verification.page`; do not edit -->", "", "# Check values", "",
             "Values that the tests compute through the functions a run uses, with where each comes from: recomputed = computed",
             "again from the stated formula by an independent program; from memory = not checked against the standard's text; else",
             "read in a public source.", "",
             "| topic | quantity | values | source |", "|---|---|---|---|"]
    for path in sorted(DATA.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        found = Counter((r["quantity"], r["source"]) for r in rows)
        lines += ["| " + " | ".join(str(v).replace("|", "\\|") for v in (path.stem, q, n, s)) + " |" for (q, s), n in sorted(found.items())]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    (ROOT / "docs" / "verification.md").write_text(text(), encoding="utf-8", newline="\n")
