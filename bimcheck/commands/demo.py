"""bimcheck demo: the main job on the bundled sample."""

from __future__ import annotations

import argparse
from pathlib import Path

from bimcheck.commands.run import execute
from bimcheck.core.errors import InputError
from bimcheck.outputs import NAMES, Output
from bimcheck.project import load
from bimcheck.project_text import project_text
from bimcheck.samples import midrise

HELP = "run the whole job on the bundled invented mid-rise: the model and its project file are written, then checked"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, default=Path("bimcheck-demo"), help="folder (default: bimcheck-demo)")
    parser.add_argument("--quiet", action="store_true", help="no progress on stderr")


def run(args: argparse.Namespace) -> int:
    """Exit status 0: the demo ran; its planted faults are findings that it is meant to show."""
    if args.output.is_dir() and any(args.output.iterdir()) and not (args.output / "results" / "run.json").is_file():
        raise InputError("the folder is not empty and holds no demo", str(args.output), "name an empty or new folder with -o")
    args.output.mkdir(parents=True, exist_ok=True)
    model, project = args.output / midrise.FILE, args.output / "project.toml"
    midrise.write(model)
    project.write_text(project_text(with_invented=True), encoding="utf-8")
    status = execute([model], load(project), Output(args.output / "results", None, "error", None, tuple(NAMES)), quiet=args.quiet)
    return 0 if status == 1 else status
