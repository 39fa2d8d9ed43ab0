"""A run's items: [hardware.NAME], a CSV file with a row an item, else the invented ones."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pydantic import ValidationError

from bimcheck.core.errors import InputError
from bimcheck.core.listed import read
from bimcheck.hardware.choose import invented
from bimcheck.hardware.settings import Catalogue, Item

_LISTS = ("materials", "bolt_lengths_mm")  # values separated by spaces
_WHAT, _WHERE = "the catalogue", "[catalogue] items_csv"


def catalogue(stated: Mapping[str, Item], files: Catalogue) -> tuple[Mapping[str, Item], bool]:
    """The items, and whether anybody stated them.  Raises InputError for a name that stands in both places."""
    listed = read_items(Path(files.items_csv)) if files.items_csv else {}
    for name in stated:
        if name in listed:
            raise InputError(f"the item '{name}' stands in [hardware] and in the file", files.items_csv, "keep one of them")
    own = {**stated, **listed}
    return own or invented(), bool(own)


def read_items(path: Path) -> dict[str, Item]:
    """Items by name, in the order of the file; blank cells take the default of their key.

    Raises InputError for a file that cannot be read, an unknown column, a name that is missing or stands twice, or a
    value that does not do.
    """
    listed = read(path, ("name",), _WHAT, _WHERE)
    fields = {k.casefold(): k for k in Item.model_fields}
    items: dict[str, Item] = {}
    for k, row in enumerate(listed.rows):
        name = row["name"]
        if not name or name in items:
            listed.refuse(k, f"the item name '{name}' is missing or stands twice", "give each item its own name")
        cells = {fields.get(h, h): v.replace(",", ".") if listed.comma else v for h, v in row.items() if h != "name"}
        items[name] = _item(cells, listed.where(k))
    return items


def _item(row: Mapping[str, str], where: str) -> Item:
    do = f"use the keys of [hardware.NAME]: {', '.join(Item.model_fields)}"
    unknown = [k for k in row if k not in Item.model_fields]
    if unknown:
        raise InputError(f"unknown column {unknown[0]}", where, do)
    stated = {k: v.split() if k in _LISTS else v for k, v in row.items() if v}
    try:
        return Item.model_validate(stated)
    except ValidationError as problem:
        first = problem.errors()[0]
        key = ".".join(str(p) for p in first["loc"])
        raise InputError(f"{key} = {stated.get(key, '(blank)')}: {first['msg']}", where, do) from problem
