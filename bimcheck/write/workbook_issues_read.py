"""Reading the issue workbook of the last run: what people typed, and what they added beside it."""

from __future__ import annotations

import re
import shutil
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from xml.sax.saxutils import unescape

import numpy as np
from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table

SHEET = "Issues"
COLUMNS = {"issue": "Issue", "status": "Status", "assignee": "Assignee", "comment": "Comment"}
ADVICE = "restore it or move it away; it is left as it is"


def read_typed(path: Path) -> Table:
    """issue, status, assignee, comment in the order of the sheet, blank where nothing is typed.

    Columns are known by their headings, wherever they stand.  Raises InputError where the workbook is open elsewhere,
    broken, not ours, or holds text on a row without an issue's id; nothing is written then.
    """
    refuse_open(path)
    with _opened(path) as sheet:
        lines = sheet.iter_rows(values_only=True)
        at = _headings(next(lines, ()), path)
        rows = [_row(line, at, number, path) for number, line in enumerate(lines, start=2)]
    kept = [r for r in rows if r["issue"]]
    return Table("typed", len(kept), {k: np.array([r[k] for r in kept], dtype=object) for k in COLUMNS})


def refuse_open(path: Path) -> None:
    """Office programs leave a file of their own beside a workbook they have open."""
    for lock in (path.with_name(f".~lock.{path.name}#"), path.with_name(f"~${path.name}")):
        if lock.exists():
            raise InputError("the workbook is open in another program", str(path), f"save and close it (or delete {lock.name})")


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    try:
        book = load_workbook(path, read_only=True, data_only=True)
    except (OSError, zipfile.BadZipFile, InvalidFileException, KeyError, ValueError, SyntaxError, TypeError, AttributeError) as problem:
        raise InputError(f"the issue workbook cannot be read: {problem}", str(path), ADVICE) from problem
    try:
        if SHEET not in book.sheetnames:
            raise InputError(f"the workbook has no sheet '{SHEET}'", str(path), ADVICE)
        yield book[SHEET]
    except (zipfile.BadZipFile, KeyError, ValueError, SyntaxError, TypeError, AttributeError, EOFError) as problem:
        raise InputError(f"the issue workbook cannot be read: {problem}", str(path), ADVICE) from problem
    finally:
        book.close()


def _headings(line: Sequence[Any], path: Path) -> dict[str, int]:
    titles = [str(v).strip() if v is not None else "" for v in line]
    lacking = [t for t in COLUMNS.values() if t not in titles]
    if lacking:
        raise InputError(f"sheet '{SHEET}' has no column '{lacking[0]}' in its first row", str(path), ADVICE)
    return {k: titles.index(t) for k, t in COLUMNS.items()}


def _row(line: Sequence[Any], at: dict[str, int], number: int, path: Path) -> dict[str, str]:
    row = {k: _text(line[i]) if i < len(line) else "" for k, i in at.items()}
    if not row["issue"] and any(row.values()):
        raise InputError(f"row {number} of sheet '{SHEET}' has text but no issue id, so it cannot be carried over", str(path),
                         "copy it elsewhere and delete the row")
    return row if row["issue"] != "no issue" else dict.fromkeys(row, "")


def _text(value: Any) -> str:
    if value is None:
        return ""
    return str(int(value)) if isinstance(value, float) and value.is_integer() else str(value)


def shown_only(path: Path) -> dict[str, list[str]]:
    """Texts that the filter of the sheet lets through, by heading of the column; only lists of texts are carried over."""
    if not path.is_file():
        return {}
    with _opened(path) as sheet:
        titles = [_text(v) for v in next(sheet.iter_rows(max_row=1, values_only=True), ())]
        inside = sheet._worksheet_path  # openpyxl reads no filters in its read-only mode
    with zipfile.ZipFile(path) as archive:
        data = archive.read(inside.lstrip("/"))
    start, end = data.rfind(b"<autoFilter"), data.rfind(b"</autoFilter>")
    if start < 0 or end < start:
        return {}
    text = data[start:end].decode("utf-8", "replace")
    columns = re.findall(r'<filterColumn colId="(\d+)"[^>]*>(.*?)</filterColumn>', text, re.DOTALL)
    found = {titles[int(k)]: _texts(body) for k, body in columns if int(k) < len(titles) and "<filters" in body}
    return {t: texts for t, texts in found.items() if texts}


def _texts(body: str) -> list[str]:
    values = [unescape(v, {"&quot;": '"', "&apos;": "'"}) for v in re.findall(r'<filter val="(.*?)"', body)]
    return values + ([""] if re.search(r'<filters[^>]*blank="(1|true)"', body) else [])


def keep_foreign(path: Path, sheets: Sequence[str], columns: Sequence[str]) -> Path | None:
    """Where the workbook has sheets or columns that are not ours, a copy beside it, under the first free number."""
    if not path.is_file():
        return None
    with _opened(path) as sheet:
        titles = [_text(v) for v in next(sheet.iter_rows(max_row=1, values_only=True), ())]
        theirs = set(sheet.parent.sheetnames) - set(sheets) or {t for t in titles if t} - set(columns)
    if not theirs:
        return None
    copies = (path.with_name(f"{path.stem}.kept-{k}{path.suffix}") for k in range(1, 10_000))
    copy = next(c for c in copies if not c.exists())
    shutil.copy2(path, copy)
    return copy
