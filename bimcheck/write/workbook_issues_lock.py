"""Whether a workbook is open in another program."""

from __future__ import annotations

from pathlib import Path

from bimcheck.core.errors import InputError


def refuse_open(path: Path) -> None:
    """Office programs leave a file of their own beside a workbook they have open; raises InputError where there is one."""
    for lock in (path.with_name(f".~lock.{path.name}#"), path.with_name(f"~${path.name}")):
        if lock.exists():
            raise InputError("the workbook is open in another program", str(path), f"save and close it (or delete {lock.name})")
