"""Coefficient tables: CSV files, the recommended ones beside this module, national ones of the project by path."""

from __future__ import annotations

import csv
from pathlib import Path

from bimcheck.core.errors import InputError

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a table.

    name: of a file of this package without its ending, else the path of a CSV file.  Raises InputError where there is
    none.
    """
    path = Path(name) if name.endswith(".csv") else DATA / f"{name}.csv"
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            return list(csv.DictReader(file))
    except OSError as problem:
        raise InputError(f"cannot read the table {name}: {problem.strerror}", "[wind]", "give the path of a CSV file") from None


def number(row: dict[str, str], key: str, where: str) -> float:
    """A number of a row; raises InputError where it is missing or none."""
    try:
        return float(row[key])
    except (KeyError, TypeError, ValueError):
        raise InputError(f"no number in column {key}", where, "correct the table") from None
