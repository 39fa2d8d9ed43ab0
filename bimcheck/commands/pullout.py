"""bimcheck pullout: material qualification from test series."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import get_args

from pydantic import ValidationError

from bimcheck import __version__
from bimcheck.core.errors import InputError
from bimcheck.core.settings import facts
from bimcheck.pullout.columns import template
from bimcheck.pullout.compare import FACTORS
from bimcheck.pullout.evaluation import Evaluation, evaluate_series
from bimcheck.pullout.material_rows import material_rows
from bimcheck.pullout.read import read
from bimcheck.pullout.record import as_json, screen
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.workbook import write_workbook

try:
    from bimcheck.pullout.pictures import draw_all
except ModuleNotFoundError:  # the drawing library is an optional extra
    draw_all = None

HELP = "evaluate pull-out and flexural test series: characteristic values, comparisons, material rows"
RECORD = "pullout.json"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("series", metavar="SERIES.csv", type=Path, nargs="?", help="test series; see --template")
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, help="output folder (default: the series' name with -pullout)")
    parser.add_argument("--template", action="store_true", help="print an empty series file with every column explained")
    parser.add_argument("--date", metavar="YYYY-MM-DD", help="date of the run, at which ages are judged (default: SOURCE_DATE_EPOCH or today)")
    parser.add_argument("--pool", metavar="FACTOR", action="append", choices=FACTORS, default=[],
                        help=f"pool groups over {', '.join(FACTORS)} where the comparison allows it; may be repeated")
    parser.add_argument("--no-pictures", action="store_true", help="leave the pictures out")
    parser.add_argument("--json", action="store_true", help="print the record instead of the table")
    options = parser.add_argument_group("assumptions")
    for name, info in Qualification.model_fields.items():
        choices, unit = get_args(info.annotation), facts(info).get("unit")
        words = "|".join(c for c in choices if isinstance(c, str))
        default = "" if info.default is None else f" (default: {info.default})"
        options.add_argument(f"--{name.replace('_', '-')}", dest=f"q_{name}", metavar=words or (unit or "value").upper(),
                             help=f"{info.description}{default}".replace("%", "%%"))


def run(args: argparse.Namespace) -> int:
    """Exit status 0, or 1 where there are cautions; raises InputError for input that cannot be used."""
    if args.template:
        sys.stdout.write(template())
        return 0
    if args.series is None:
        raise InputError("no series file", "command line", "name one, or see bimcheck pullout --template")
    today = _today(args.date)
    evaluation = evaluate_series(read(args.series, today), _settings(args), today, args.pool, __version__)
    folder = args.output or Path(f"{args.series.stem}-pullout")
    _write(evaluation, folder, pictures=not args.no_pictures)
    _report(evaluation, folder, args.json)
    return 1 if evaluation.cautions else 0


def _settings(args: argparse.Namespace) -> Qualification:
    stated = {name: getattr(args, f"q_{name}", None) for name in Qualification.model_fields}
    try:
        return Qualification.model_validate({k: v for k, v in stated.items() if v is not None})
    except ValidationError as problem:
        first = problem.errors()[0]
        raise InputError(first["msg"], f"--{str(first['loc'][0]).replace('_', '-')}", "correct the option") from None


def _today(stated: str | None) -> date:
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    try:
        if stated:
            return date.fromisoformat(stated)
        return datetime.fromtimestamp(int(epoch), UTC).date() if epoch else datetime.now(UTC).date()
    except (ValueError, OverflowError, OSError):
        raise InputError(f"'{stated or epoch}' is not a date", "--date" if stated else "SOURCE_DATE_EPOCH", "write YYYY-MM-DD") from None


def _write(e: Evaluation, folder: Path, *, pictures: bool) -> None:
    """Everything is written beside the folder first, so that each file appears whole or not at all."""
    stale = _files_of_last_run(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=folder.parent, prefix=".bimcheck-") as scratch:
            names = _files(e, Path(scratch), pictures=pictures)
            for name in sorted(set(stale) - set(names)):
                (folder / name).unlink(missing_ok=True)
            for name in names:
                (folder / name).parent.mkdir(exist_ok=True)
                (Path(scratch) / name).replace(folder / name)
    except OSError as problem:
        raise InputError(f"cannot be written: {problem.strerror}", str(folder), "name another folder with -o") from problem


def _files_of_last_run(folder: Path) -> list[str]:
    """Refuses a folder that holds something else."""
    if folder.is_file():
        raise InputError("this is a file", str(folder), "name a folder with -o")
    if not folder.is_dir() or not any(folder.iterdir()):
        return []
    try:
        names = json.loads((folder / RECORD).read_text(encoding="utf-8"))["files"]
    except (OSError, ValueError, KeyError, TypeError):
        raise InputError(f"the folder is not empty and holds no {RECORD} of ours", str(folder), "name an empty or new folder with -o") from None
    return [name for name in names if _is_ours(name)]


def _is_ours(name: str) -> bool:
    """Only names that a run writes are ever removed, whatever the record says."""
    path = Path(name)
    return name in ("pullout.xlsx", "materials.toml") or (path.parent == Path("pictures") and path.suffix in (".svg", ".png"))


def _files(e: Evaluation, scratch: Path, *, pictures: bool) -> list[str]:
    drawn = _draw(e, scratch / "pictures") if pictures else []
    write_workbook(e, scratch / "pullout.xlsx", [path for path in drawn if path.suffix == ".png"])
    (scratch / "materials.toml").write_text(material_rows(e), encoding="utf-8", newline="\n")
    names = ["pullout.xlsx", "materials.toml", *(f"pictures/{path.name}" for path in drawn)]
    record = json.loads(as_json(e)) | {"files": names}
    (scratch / RECORD).write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
    return [*names, RECORD]


def _draw(e: Evaluation, folder: Path) -> Sequence[Path]:
    if draw_all is None:
        print("pictures left out: install bimcheck[pictures]", file=sys.stderr)
        return []
    paths, total = [], 2 * len(e.all_groups)
    for path in draw_all(e, folder):
        paths.append(path)
        if len(paths) % 100 == 0:
            print(f"pictures: {len(paths)} of {total}", file=sys.stderr)
    return paths


def _report(e: Evaluation, folder: Path, as_record: bool) -> None:
    if as_record:
        sys.stdout.write(as_json(e))
    else:
        print("\n".join(screen(e)))
    for caution in e.cautions:
        print(f"caution, {caution.group or 'file'}, {caution.rule}: {caution.text}", file=sys.stderr)
    for name in e.factors.assumed:
        print(f"assumed: {name} = {getattr(e.factors, name):g}, no source; state --{name.replace('_', '-')}", file=sys.stderr)
    print(f"{e.series.table.n} specimens in {len(e.groups)} groups, {len(e.cautions)} cautions; written to {folder}", file=sys.stderr)
