"""bimcheck strip: the author's file without what bimcheck added."""

from __future__ import annotations

import argparse
import os
import sys
from hashlib import sha256
from pathlib import Path

from bimcheck.core.errors import InputError
from bimcheck.core.ifcfile import load_bytes
from bimcheck.write.strip import Stripped, strip

HELP = "take everything bimcheck added out of an enriched model"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("model", metavar="MODEL", type=Path, help="enriched model (.ifc or .ifczip)")
    parser.add_argument("-o", "--output", metavar="FILE", type=Path, required=True, help="file to write (.ifc)")


def run(args: argparse.Namespace) -> int:
    """Exit status 0; raises InputError where the file cannot be read, or the output would overwrite it."""
    _refuse_same(args.model, args.output)
    done = strip(load_bytes(args.model), str(args.model))
    _write_whole(args.output, done.data)
    print(_message(done), file=sys.stderr)
    return 0


def _message(done: Stripped) -> str:
    digest = sha256(done.data).hexdigest()
    if not done.removed:
        return f"nothing of bimcheck in it; copied as it is, SHA-256 {digest}"
    if done.exact:
        return f"{done.removed} entities removed; this is the author's file, byte for byte, SHA-256 {digest}"
    return (f"{done.removed} entities removed; the file was saved by another program since, so it is no longer "
            f"byte-exact to the author's, SHA-256 {digest}")


def _refuse_same(model: Path, output: Path) -> None:
    if output.exists() and model.exists() and os.path.samefile(model, output):
        raise InputError("input and output are the same file", str(output), "name another file with -o")
    if output.is_dir() or not output.parent.is_dir():
        raise InputError("cannot write there", str(output), "name a file in an existing folder with -o")


def _write_whole(output: Path, data: bytes) -> None:
    """The whole file or nothing."""
    part = output.with_name(output.name + ".part")
    try:
        part.write_bytes(data)
        part.replace(output)
    except OSError as problem:
        part.unlink(missing_ok=True)
        raise InputError(f"cannot be written: {problem}", str(output), "name another file with -o") from problem
