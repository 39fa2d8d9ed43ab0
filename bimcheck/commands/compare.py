"""bimcheck compare: what changed between two runs."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck import store
from bimcheck.core.tables import Table

HELP = "compare two earlier runs panel by panel: new, gone, moved, resized, other anchors, other result"
# what -> columns and the change from which it counts (mm), or 0 for text
_WHAT = {"resized": (("width", "height", "thickness"), 0.5), "moved": (("origin",), 1.0)}
_TEXT = {"material": "material", "pattern": "pattern_selected", "result": "result", "mark": "drill_mark"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("old", metavar="OLD_DIR", type=Path, help="output folder of the earlier run")
    parser.add_argument("new", metavar="NEW_DIR", type=Path, help="output folder of the later run")
    parser.add_argument("--json", action="store_true", help="as JSON")


def run(args: argparse.Namespace) -> int:
    """0 nothing changed, 1 something did."""
    rows = list(changes(store.load(args.old).tables["panels"], store.load(args.new).tables["panels"]))
    if args.json:
        print(json.dumps(rows, indent=1))
    else:
        print("\n".join(f"{r['change']}: {r['name']} ({r['guid']}) {r['detail']}".rstrip() for r in rows) or "no change")
    return int(bool(rows))


def changes(old: Table, new: Table) -> Iterator[dict[str, Any]]:
    """A row a panel and kind of change; panels are the same by GlobalId and its order where it is not unique."""
    before, after = _keys(old), _keys(new)
    for key in sorted(after.keys() - before.keys()):
        yield _row("new", new, after[key])
    for key in sorted(before.keys() - after.keys()):
        yield _row("gone", old, before[key])
    for key in sorted(before.keys() & after.keys()):
        yield from _differences(old, before[key], new, after[key])


def _keys(panels: Table) -> dict[tuple[str, int], int]:
    seen: dict[str, int] = {}
    keys = {}
    for i, guid in enumerate(panels["guid"].tolist()):
        seen[guid] = seen.get(guid, -1) + 1
        keys[guid, seen[guid]] = i
    return keys


def _differences(old: Table, a: int, new: Table, b: int) -> Iterator[dict[str, Any]]:
    for what, (columns, least) in _WHAT.items():
        change = max(float(np.max(np.abs(new[c][b] - old[c][a]))) for c in columns)
        if change >= least:
            yield _row(what, new, b, f"by {change:.1f} mm")
    for what, column in _TEXT.items():
        if column in old and column in new and old[column][a] != new[column][b]:
            yield _row(what, new, b, f"{old[column][a] or '-'} -> {new[column][b] or '-'}")


def _row(change: str, panels: Table, row: int, detail: str = "") -> dict[str, Any]:
    return {"change": change, "guid": str(panels["guid"][row]), "name": str(panels["name"][row]), "mark": str(panels["mark"][row]), "detail": detail}
