"""bimcheck quantities: anchors, bolts and panels of an earlier run, counted by what is asked."""

from __future__ import annotations

import argparse
import csv
import json
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck import store
from bimcheck.core.errors import InputError
from bimcheck.core.tables import gather
from bimcheck.pullout.specimens import order_rows
from bimcheck.result import Result

HELP = "count anchors, bolts and panels of an earlier run, or the specimens a laboratory needs"
KEYS = ("item", "bolt_length", "storey", "facade", "material", "thickness", "pattern", "mark", "result", "model")
_COLUMNS = {"pattern": "pattern_selected", "mark": "drill_mark"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="DIR", type=Path, help="output folder of `bimcheck run`")
    parser.add_argument("--by", nargs="+", choices=KEYS, default=["item", "storey", "facade"], help="what to count by")
    parser.add_argument("--specimens", action="store_true", help="how many test specimens of which material and thickness the laboratory needs")
    parser.add_argument("--json", action="store_true", help="as JSON instead of CSV")


def run(args: argparse.Namespace) -> int:
    result = store.load(args.folder)
    rows = specimens(result) if args.specimens else count(result, args.by)
    if args.json:
        print(json.dumps(rows, indent=1))
    elif rows:
        writer = csv.DictWriter(sys.stdout, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    return 0


def count(result: Result, by: list[str]) -> list[dict[str, Any]]:
    """A row a combination: anchors and panels; only what has a layout, whatever its result."""
    tables = result.tables
    of_anchor = [_texts(gather(tables, "anchors", _COLUMNS.get(k, k))) for k in by]
    of_panel = [_texts(tables["panels"][_COLUMNS.get(k, k)]) for k in by]
    anchors = Counter(zip(*of_anchor, strict=True))
    panels = Counter(key for key, n in zip(zip(*of_panel, strict=True), tables["panels"]["n_anchors_selected"], strict=True) if n > 0)
    return [{**dict(zip(by, key, strict=True)), "anchors": anchors[key], "panels": panels[key]} for key in sorted(anchors | panels)]


def _texts(column: Any) -> list[str]:
    if column is None:
        raise InputError("this run has no such column", "result.sqlite", "run bimcheck again")
    return [f"{v:g}" for v in column] if np.asarray(column).dtype.kind == "f" else [str(v) for v in column]


def specimens(result: Result) -> list[dict[str, Any]]:
    """The laboratory's order, from the panels of the run."""
    p = result.tables["panels"]
    return order_rows(*(p[name].tolist() for name in ("material", "thickness", "surface", "natural_stone", "hole_depth")))
