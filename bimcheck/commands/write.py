"""bimcheck write: further outputs from the store, without the model and without solving again."""

from __future__ import annotations

import argparse
from pathlib import Path

from bimcheck import store
from bimcheck.core import plugins
from bimcheck.core.errors import InputError
from bimcheck.outputs import more_outputs

HELP = "write further outputs from an earlier run, without the model and without calculating again"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="DIR", type=Path, help="output folder of `bimcheck run`")
    parser.add_argument("names", metavar="NAME", nargs="+", help=f"outputs: {', '.join(plugins.names('bimcheck.writers'))}")


def run(args: argparse.Namespace) -> int:
    result = store.load(args.folder)
    known = plugins.names("bimcheck.writers")
    for name in args.names:
        if name not in known:
            raise InputError(f"no output is called '{name}'", "bimcheck write", f"known: {', '.join(known)}")
    print("\n".join(more_outputs(result, args.folder, args.names)))
    return 0
