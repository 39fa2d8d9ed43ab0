"""bimcheck inspect: what would be taken as panels."""

from __future__ import annotations

import argparse
import json
from collections import Counter
from pathlib import Path
from typing import Any

from bimcheck.inputs import read_settings, sources
from bimcheck.materials.catalogue import match
from bimcheck.project import load
from bimcheck.read.inspect import inspect_rows
from bimcheck.read.stage import read_models

HELP = "list what would be taken as panels and what not, and why; nothing is calculated or written"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("models", metavar="MODEL", nargs="+", type=Path, help="IFC model")
    parser.add_argument("-p", "--project", metavar="PROJECT.toml", type=Path, help="project file")
    parser.add_argument("--ids", action="store_true", help="check what the model must bring (IDS), element by element")
    parser.add_argument("--json", action="store_true", help="as JSON")


def run(args: argparse.Namespace) -> int:
    settings = load(args.project)
    with sources(args.models) as found:
        read = read_models([s.opened for s in found], read_settings(settings))
        ids = _ids(read) if args.ids else []
    rows = inspect_rows(read)
    names = Counter(str(m) for m in read.elements["material_name"])
    unknown = sorted(n for n in names if n and match(n, settings.materials) < 0)
    if args.json:
        print(json.dumps({"rows": rows, "materials_without_row": unknown, "missing": ids}, indent=1, default=str))
    else:
        print(_text(rows, unknown, ids, read))
    return 0 if (read.elements["status"] == "panel").any() else 1


def _ids(read: Any) -> list[dict[str, Any]]:
    from bimcheck.read.ids import check_ids  # noqa: PLC0415  (optional library, only for --ids)

    return [row for m in read.models for row in check_ids(m.opened.file)]


def _text(rows: list[dict[str, Any]], unknown: list[str], ids: list[dict[str, Any]], read: Any) -> str:
    lines = []
    if rows:
        keys = list(rows[0])
        table = [keys, *[[str(r[k]) for k in keys] for r in rows]]
        widths = [min(max(len(row[i]) for row in table), 44) for i in range(len(keys))]
        lines = ["  ".join(c[:w].ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in table]
    lines += [f"material without a row in the project file: {name}" for name in unknown]
    for m in read.models:
        others = ", ".join(f"{n} {c}" for c, n in sorted(m.other_counts.items()))
        lines.append(f"{m.name}: {m.opened.schema}, {m.opened.unit}; not considered: {others or 'nothing'}")
    lines += [f"missing: {' | '.join(str(v) for v in r.values())}" for r in ids]
    return "\n".join(lines)
