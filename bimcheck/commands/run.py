"""bimcheck run: models in, checked panels out."""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bimcheck import pipeline
from bimcheck.inputs import sources
from bimcheck.outputs import Output, prepared, write_all
from bimcheck.project import Settings, load

HELP = "check the facade panels of one or more IFC models and write the results; the inputs are never changed"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("models", metavar="MODEL", nargs="+", type=Path, help="IFC model (.ifc or .ifczip), any schema and unit")
    parser.add_argument("-p", "--project", metavar="PROJECT.toml", type=Path, help="project file (see `bimcheck init`)")
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, default=Path("bimcheck-out"), help="output folder (default: bimcheck-out)")
    parser.add_argument("--previous", metavar="DIR", type=Path, help="earlier run to compare issues and marks with (default: the output folder's own)")
    parser.add_argument("--only", metavar="QUERY", help="consider only elements of this query (IfcOpenShell selector syntax)")
    parser.add_argument("--units", choices=("si", "us"), help="units of workbooks and pictures")
    parser.add_argument("--fail-on", choices=("error", "warning"), default="error", help="issues that make the exit status 1")
    parser.add_argument("--json", action="store_true", help="print the summary as JSON")
    parser.add_argument("--quiet", action="store_true", help="no progress on stderr")


def run(args: argparse.Namespace) -> int:
    """0 every panel passes and no open issue reaches --fail-on; 1 otherwise; 2 where there is no panel at all."""
    settings = load(args.project)
    return execute(args.models, settings, Output(args.output, args.previous, args.fail_on, args.units), only=args.only,
                   as_json=args.json, quiet=args.quiet)


def execute(models: list[Path], settings: Settings, output: Output, *, only: str | None = None, as_json: bool = False, quiet: bool = False) -> int:
    """Run and write; shared with `demo`."""
    progress = _silent if quiet else _progress(time.perf_counter())
    with prepared(output, models), sources(models) as found:
        done = pipeline.run(found, settings, progress, only=only)
        summary = write_all(done, found, settings, output, progress)
    print(json.dumps(summary, indent=1, sort_keys=True) if as_json else _text(summary))
    return int(summary["exit_status"])


def _silent(text: str) -> None:
    pass


def _progress(start: float) -> Callable[[str], None]:
    def show(text: str) -> None:
        print(f"{time.perf_counter() - start:7.1f} s  {text}", file=sys.stderr, flush=True)
    return show


def _files(names: list[str]) -> list[str]:
    """Files by name, those in a folder by their number."""
    folders = Counter(n.rpartition("/")[0] for n in names)
    return [n for n in names if "/" not in n] + [f"{folder}/ ({n} files)" for folder, n in folders.items() if folder]


def _text(summary: dict[str, Any]) -> str:
    c, r = summary["counts"], summary["results"]
    lines = [
        f"{c['considered']} elements considered: {c['panel']} panels, {c['out_of_scope']} out of scope, {c['unreadable']} unreadable",
        f"panels: {r['pass']} pass, {r['fail']} fail, {r['not_checked']} not checked; {summary['anchors']} anchors",
        f"issues: {', '.join(f'{n} {s}' for s, n in summary['issues'].items()) or 'none'}",
    ]
    lines += [f"sharing layouts: {summary['sharing']}"] if summary["sharing"] else []
    lines += [f"not checked: {n} x {why}" for why, n in list(summary["not_checked"].items())[:5]]
    if summary["assumed"]:
        lines.append(f"assumed, so nothing that rests on it passes: {', '.join(summary['assumed'])}; state them in a project file (`bimcheck init`)")
    lines += [f"advice: {a}" for a in summary.get("advice", [])]
    lines.append(f"written to {summary['folder']}: {', '.join(_files(summary['files']))}")
    lines.append("Preliminary design aid: the responsible engineer and local codes decide.")
    return "\n".join(lines)
