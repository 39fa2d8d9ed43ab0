"""A workbook of plain tables with a first sheet of cautions: text stays text, the same content gives the same bytes."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from xlsxwriter.exceptions import XlsxWriterException
from xlsxwriter.workbook import Workbook

from bimcheck.core.errors import InputError
from bimcheck.write.workbook_issues_book import Book
from bimcheck.write.workbook_issues_summary import Page

OPTIONS = {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


def write_book(path: Path, title: str, units: str, fill: Callable[[Book], None]) -> Path:
    """Write a workbook whole or not at all; raises InputError where it cannot be written."""
    part = path.with_name(f".{path.name}.part")
    try:
        with Workbook(str(part), OPTIONS) as workbook:
            book = Book(workbook, units)
            workbook.set_properties({"title": title, "created": datetime(2000, 1, 1)})
            fill(book)
        os.replace(part, path)
    except (OSError, XlsxWriterException) as problem:
        part.unlink(missing_ok=True)
        raise InputError(f"cannot be written: {problem}", str(path), "close the program that has it open") from problem
    return path


def first_page(book: Book, title: str, cautions: Sequence[str], notes: Sequence[tuple[str, Sequence[tuple[str, Any]]]]) -> None:
    """Title, cautions, and headings with lines (name, what it says) below them."""
    page = Page(book, "Read first", [30, 110])
    page.line(title, look="title")
    page.heading("Cautions")
    for text in cautions:
        page.sheet.set_row(page.row, 32)
        page.line("", text, look="caution")
    for heading, lines in notes:
        page.heading(heading)
        for name, value in lines:
            page.line(name, value, look="wrap")


def about_the_run(result: Any) -> tuple[str, list[tuple[str, Any]]]:
    facts = result.facts
    models = [("model", f"{m['name']} (SHA-256 {str(m['sha256'])[:16]} ...)") for m in facts.get("models", [])]
    assumed = [("assumed", ", ".join(facts.get("assumed", [])) or "nothing")]
    return "The run", [("bimcheck", str(facts.get("version", ""))), *models, ("settings", f"SHA-256 {str(facts.get('settings_sha256', ''))[:16]} ..."), *assumed]
