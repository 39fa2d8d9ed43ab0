"""bimcheck init: a complete commented project file."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from bimcheck.core.errors import InputError
from bimcheck.project_text import project_text

HELP = "write a complete commented project file; every key with its meaning, unit, default and source"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("-o", "--output", metavar="FILE", type=Path, help="file to write (default: standard output)")
    parser.add_argument("--invented", action="store_true", help="fill in invented strengths, hardware and site; by using them you accept them as data")
    parser.add_argument("--force", action="store_true", help="overwrite the file")


def run(args: argparse.Namespace) -> int:
    text = project_text(args.invented)
    if args.output is None:
        print(text)
        return 0
    if args.output.exists() and not args.force and args.output.read_text(encoding="utf-8", errors="replace") != text:
        raise InputError("the file exists", str(args.output), "name another one, or pass --force")
    try:
        args.output.write_text(text, encoding="utf-8")
    except OSError as problem:
        raise InputError(f"cannot be written: {problem}", str(args.output), "name a file in an existing folder") from problem
    print(f"written: {args.output}", file=sys.stderr)
    return 0
