"""Lists that people bring as CSV: rows of text, the numbers in them, and the panels they name."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, NoReturn

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table

NAMED_BY = "panel_guid or guid, or mark"
_SHOWN = 3  # names that a message lists


@dataclass(frozen=True)
class Listed:
    """Rows of a file, each with the number of its line; headings in lower case, cells without blanks around them."""

    path: Path
    rows: list[dict[str, str]]
    lines: list[int]
    comma: bool  # a comma separates decimals

    def where(self, k: int) -> str:
        return f"{self.path}, line {self.lines[k]}"

    def refuse(self, k: int, what: str, do: str) -> NoReturn:
        raise InputError(what, self.where(k), do)

    def numbers(self, column: str, do: str) -> NDArray[np.float64]:
        """(m,) finite numbers of a column; raises InputError for the first that is none."""
        return np.array([self._number(k, column, do) for k in range(len(self.rows))], dtype=float)

    def _number(self, k: int, column: str, do: str) -> float:
        text = self.rows[k][column]
        try:
            value = float(text.replace(",", ".") if self.comma else text)
        except ValueError:
            value = np.nan
        if not np.isfinite(value):
            self.refuse(k, f"'{text}' in {column} is no number", do)
        return value


def read(path: Path, needs: Sequence[str], what: str, setting: str) -> Listed:
    """Rows of a CSV file, separated by commas or semicolons (then decimals may have a comma); blank lines are left out.

    Raises InputError for a file that cannot be read, holds no row, lacks a column of `needs`, or has cells without heading.
    """
    do = f"check {setting}; paths count from the project file's folder"
    try:
        text = path.read_text(encoding="utf-8-sig")
        comma = ";" in text.partition("\n")[0]
        reader = csv.DictReader(text.splitlines(), delimiter=";" if comma else ",", restval="", strict=True)
        found = [(reader.line_num, row) for row in reader]
    except (OSError, UnicodeDecodeError, csv.Error) as problem:
        reason = getattr(problem, "strerror", None) or problem
        raise InputError(f"{what} cannot be read: {reason}", str(path), do) from problem
    heads = [(h or "").strip().casefold() for h in reader.fieldnames or ()]
    listed = Listed(path, [_cells(row, path, line) for line, row in found], [line for line, _ in found], comma)
    missing = [c for c in needs if c not in heads]
    if missing:
        raise InputError(f"no column {missing[0]}", str(path), f"columns that are needed: {', '.join(needs)}")
    if not listed.rows:
        raise InputError(f"{what}: no row", str(path), do)
    return listed


def _cells(row: Mapping[Any, Any], path: Path, line: int) -> dict[str, str]:
    if None in row:
        raise InputError("more cells than headings", f"{path}, line {line}", "put cells that hold the separator in quotes")
    return {str(k).strip().casefold(): str(v).strip() for k, v in row.items()}


def panels_named(listed: Listed, panels: Table, partial: bool = False) -> tuple[Listed, NDArray[np.int64]]:
    """The rows that name a panel, and its row for each: by panel_guid or guid (with panel_step_id or step_id), else by mark.

    partial: rows of others are left out, for runs that look at some elements only.  Raises InputError where a name is
    missing, is no panel of the run, or stands for several panels.
    """
    names = _names(panels)
    found = [names.get(_key(row), []) for row in listed.rows]
    unknown, many = ([k for k, f in enumerate(found) if test(len(f))] for test in (lambda n: n == 0, lambda n: n > 1))
    if many or (unknown and not partial):
        _refuse(listed, many or unknown, "the name of several panels" if many else "not among the panels of this run")
    keep = [k for k, f in enumerate(found) if f]
    mine = replace(listed, rows=[listed.rows[k] for k in keep], lines=[listed.lines[k] for k in keep])
    return mine, np.array([found[k][0] for k in keep], dtype=np.int64)


def _names(panels: Table) -> dict[tuple[str, ...], list[int]]:
    guid, step, mark = (panels[k].astype(str).tolist() for k in ("guid", "step_id", "mark"))
    names: dict[tuple[str, ...], list[int]] = {}
    for i, (g, s, m) in enumerate(zip(guid, step, mark, strict=True)):
        for key in (("guid", g), ("guid", g, s), ("mark", m)):
            if key[1]:
                names.setdefault(key, []).append(i)
    return names


def _key(row: Mapping[str, str]) -> tuple[str, ...]:
    guid, step = row.get("panel_guid") or row.get("guid") or "", row.get("panel_step_id") or row.get("step_id") or ""
    return ("guid", guid, *([step] if step else [])) if guid else ("mark", row.get("mark", ""))


def _refuse(listed: Listed, rows: list[int], fault: str) -> None:
    said = list(dict.fromkeys(_key(listed.rows[k])[1] or "(blank)" for k in rows))
    more = f" and {len(said) - _SHOWN} more" if len(said) > _SHOWN else ""
    do = f"name panels by {NAMED_BY} as panels.csv states them, and remove the rows of others"
    raise InputError(f"{', '.join(said[:_SHOWN])}{more}: {fault}", listed.where(rows[0]), do)
