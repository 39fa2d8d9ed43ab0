"""Reading the issue workbook of the last run: what people typed, and what they added beside it."""

from __future__ import annotations

import re
import shutil
import zipfile
import zlib
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
from bimcheck.write.workbook_issues_lock import refuse_open
from bimcheck.write.workbook_issues_scan import Unplain, rows_of

SHEET = "Issues"
COLUMNS = {"issue": "Issue", "status": "Status", "assignee": "Assignee", "comment": "Comment"}
# What the readers below raise over damaged files; none of it is ours.
BROKEN = (zipfile.BadZipFile, zlib.error, KeyError, IndexError, ValueError, SyntaxError, TypeError, AttributeError, EOFError, NotImplementedError,
          RuntimeError, OverflowError)
_ID = re.compile("[A-Z2-7]{10}")
ADVICE = "restore it or move it away; it is left as it is"


def read_typed(path: Path) -> Table:
    """issue, status, assignee, comment in the order of the sheet, blank where nothing is typed.

    Columns are known by their headings, wherever they stand.  Raises InputError where the workbook is open elsewhere,
    broken, not ours, or holds text on a row without an issue's id; nothing is written then.
    """
    refuse_open(path)
    rows: list[dict[str, str]] = []
    with _opened(path) as book:
        for sheet in issue_sheets(book):
            rows += _fast(path, sheet) or _slow(path, sheet)
    kept = [r for r in rows if r["issue"]]
    _refuse_twice(kept, path)
    return Table("typed", len(kept), {k: np.array([r[k] for r in kept], dtype=object) for k in COLUMNS})


def _refuse_twice(rows: list[dict[str, str]], path: Path) -> None:
    """A row that somebody copied, with other texts: which of them counts is not ours to say."""
    seen: dict[str, dict[str, str]] = {}
    for row in rows:
        if seen.setdefault(row["issue"], row) != row:
            raise InputError(f"issue {row['issue']} stands twice in sheet '{SHEET}', with different texts", str(path), "delete one of the rows")


def issue_sheets(book: Any) -> list[Any]:
    """The sheets of issues: what one cannot hold goes on in "Issues 2"."""
    return [book[n] for n in book.sheetnames if re.fullmatch(rf"{SHEET}( \d+)?", n)]


def _slow(path: Path, sheet: Any) -> list[dict[str, str]]:
    lines = sheet.iter_rows(values_only=True)
    at = _headings(next(lines, ()), path)
    cells = ((number, {k: _text(line[i]) if i < len(line) else "" for k, i in at.items()}) for number, line in enumerate(lines, start=2))
    return [_row(texts, number, path) for number, texts in cells]


def _fast(path: Path, sheet: Any) -> list[dict[str, str]]:
    """The same where the sheet is written plainly; else nothing."""
    try:
        with zipfile.ZipFile(path) as archive, archive.open(sheet._worksheet_path.lstrip("/")) as file:
            _, titles = next(rows_of(file, sheet._shared_strings), (0, {}))
            file.seek(0)
            letter = {title.strip(): column for column, title in reversed(titles.items())}
            at = {k: letter[t] for k, t in COLUMNS.items()}
            found = list(rows_of(file, sheet._shared_strings, at.values()))[1:]
    except (Unplain, KeyError, IndexError, UnicodeDecodeError):
        return []
    return [_row({k: _unescaped(texts.get(column, "")) for k, column in at.items()}, number, path) for number, texts in found]


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    try:
        book = load_workbook(path, read_only=True, data_only=True)
    except (OSError, InvalidFileException, *BROKEN) as problem:
        raise InputError(f"the issue workbook cannot be read: {problem}", str(path), ADVICE) from problem
    try:
        if SHEET not in book.sheetnames:
            raise InputError(f"the workbook has no sheet '{SHEET}'", str(path), ADVICE)
        yield book
    except BROKEN as problem:
        raise InputError(f"the issue workbook cannot be read: {problem}", str(path), ADVICE) from problem
    finally:
        book.close()


def _headings(line: Sequence[Any], path: Path) -> dict[str, int]:
    titles = [str(v).strip() if v is not None else "" for v in line]
    lacking = [t for t in COLUMNS.values() if t not in titles]
    if lacking:
        raise InputError(f"sheet '{SHEET}' has no column '{lacking[0]}' in its first row", str(path), ADVICE)
    return {k: titles.index(t) for k, t in COLUMNS.items()}


def _row(row: dict[str, str], number: int, path: Path) -> dict[str, str]:
    if row["issue"] == "no issue":
        return dict.fromkeys(row, "")
    if any(row.values()) and not _ID.fullmatch(row["issue"]):
        raise InputError(f"row {number} of sheet '{SHEET}' has text but no issue id, so it cannot be carried over", str(path),
                         "copy it elsewhere and delete the row")
    return row


def _text(value: Any) -> str:
    if value is None:
        return ""
    return str(int(value)) if isinstance(value, float) and value.is_integer() else _unescaped(str(value))


def _unescaped(text: str) -> str:
    """Office Open XML writes a character that XML has no room for as _xHHHH_."""
    return re.sub("_x([0-9A-Fa-f]{4})_", lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


def shown_only(path: Path) -> dict[str, list[str]]:
    """Texts that the filter of the sheet lets through, by heading of the column; only lists of texts are carried over."""
    if not path.is_file():
        return {}
    with _opened(path) as book:
        sheet = book[SHEET]
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
    with _opened(path) as book:
        titles = [_text(v) for v in next(book[SHEET].iter_rows(max_row=1, values_only=True), ())]
        theirs = {re.sub(r" \d+$", "", n) for n in book.sheetnames} - set(sheets) or {t for t in titles if t} - set(columns)
    if not theirs:
        return None
    copies = (path.with_name(f"{path.stem}.kept-{k}{path.suffix}") for k in range(1, 10_000))
    copy = next(c for c in copies if not c.exists())
    shutil.copy2(path, copy)
    return copy
