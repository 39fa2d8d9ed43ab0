"""A catalogue from a CSV file: a row an item, a column a key of [hardware.NAME], and `name`."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from bimcheck.core.errors import InputError
from bimcheck.hardware.settings import Item

_LISTS = ("materials", "bolt_lengths_mm")  # values separated by spaces


def read_items(path: Path) -> dict[str, Item]:
    """Items by name, in the order of the file; blank cells take the default of their key.

    Raises InputError for a file that cannot be read, an unknown column, a name that is missing or stands twice, or a
    value that does not do.
    """
    items: dict[str, Item] = {}
    for line, row in enumerate(_rows(path), start=2):
        name = (row.pop("name", "") or "").strip()
        where = f"{path}, line {line}"
        if not name or name in items:
            raise InputError(f"the item name '{name}' is missing or stands twice", where, "give each item its own name")
        items[name] = _item(row, where)
    if not items:
        raise InputError("a catalogue without items", str(path), "write a row for each item")
    return items


def _rows(path: Path) -> list[dict[str, Any]]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            return list(csv.DictReader(file))
    except (OSError, UnicodeDecodeError, csv.Error) as problem:
        raise InputError(f"the catalogue cannot be read: {problem}", str(path), "check the path and the file") from problem


def _item(row: dict[str, Any], where: str) -> Item:
    unknown = [k for k in row if k not in Item.model_fields]
    if unknown:
        raise InputError(f"unknown column {unknown[0]}", where, f"use the keys of [hardware.NAME]: {', '.join(Item.model_fields)}")
    stated = {k: v.split() if k in _LISTS else v for k, v in row.items() if v}
    try:
        return Item(**stated)
    except ValidationError as problem:
        first = problem.errors()[0]
        key = ".".join(str(p) for p in first["loc"])
        raise InputError(f"{key}: {first['msg']}", where, f"use the keys of [hardware.NAME]: {', '.join(Item.model_fields)}") from problem
