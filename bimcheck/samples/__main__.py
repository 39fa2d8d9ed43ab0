"""python -m bimcheck.samples: write the invented models to a folder."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from bimcheck.core.errors import InputError
from bimcheck.samples import midrise, podium
from bimcheck.samples.building import MM_PER_UNIT
from bimcheck.samples.step import SCHEMA_NAMES
from bimcheck.samples.tower import write_tower


def parser() -> argparse.ArgumentParser:
    """The command line."""
    p = argparse.ArgumentParser(prog="python -m bimcheck.samples", description="Write invented facade models: a mid-rise and a small podium, or a tower.")
    p.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder to write to")
    p.add_argument("--tower", type=int, metavar="N", help="a tower of exactly N panels instead")
    p.add_argument("--shapes", type=int, default=1_500, metavar="N", help="unique panel sizes of the tower (%(default)s)")
    p.add_argument("--body", default="extrusion", choices=["extrusion", "brep", "tessellation", "mapped"], help="how panels are modelled (%(default)s)")
    p.add_argument("--schema", default="IFC4", choices=list(SCHEMA_NAMES), help="schema of the tower (%(default)s)")
    p.add_argument("--unit", default="MILLIMETRE", choices=list(MM_PER_UNIT), help="length unit of the tower (%(default)s)")
    p.add_argument("--parts", type=float, default=1.0, metavar="X", help="rails and brackets a panel, about (%(default)s)")
    p.add_argument("--seed", type=int, default=0, help="another tower of the same kind (%(default)s)")
    return p


def write(args: argparse.Namespace) -> list[Path]:
    """The files asked for."""
    args.out.mkdir(parents=True, exist_ok=True)
    if args.tower is not None:
        path = args.out / f"tower_{args.tower}_{args.body}_{args.schema}.ifc"
        return [write_tower(path, args.tower, args.shapes, args.body, args.schema, args.seed, args.unit, args.parts)]
    return [f for m in (midrise, podium) for f in (m.write(args.out / m.FILE), m.write_truth(args.out / m.TRUTH))]


def main(argv: Sequence[str] | None = None) -> int:
    """Exit status 0, or 2 with one line where the request or the folder cannot be used."""
    args = parser().parse_args(argv)
    try:
        files = write(args)
    except (InputError, OSError) as error:
        print(f"bimcheck.samples: {error}", file=sys.stderr)
        return 2
    print("\n".join(str(f) for f in files))
    return 0


if __name__ == "__main__":
    sys.exit(main())
