"""Files that a project file names: found from its own folder, read before any model is opened, part of its hash."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from bimcheck.core.errors import InputError
from bimcheck.core.settings import Section

# Section -> settings that name a file; what is listed under WORDS is a word, no file.  Tables of SHIPPED may be the
# package's own, which are named without an ending.
FILES: Mapping[str, tuple[str, ...]] = {
    "wind": ("table", "wall_table"), "layout": ("keep",), "drilling": ("measured",), "catalogue": ("items_csv",)}
WORDS = frozenset({"", "author"})
SHIPPED = frozenset({"wind"})


def beside(name: str, section: Section, base: Path | None) -> Section:
    """The section with its files as paths that count from the project file's folder (None: from the working directory)."""
    folder = base or Path()
    stated = {k: str(getattr(section, k)) for k in FILES.get(name, ())}
    return section.model_copy(update={k: str(folder / v) for k, v in stated.items() if _is_file(name, v, folder)})


def _is_file(name: str, value: str, folder: Path) -> bool:
    return value not in WORDS and (name not in SHIPPED or Path(value).suffix.casefold() == ".csv" or (folder / value).is_file())


def hashes(sections: Mapping[str, Any]) -> dict[str, str]:
    """SHA-256 of the files by dotted key.  Raises InputError for one that cannot be read."""
    return {key: hashlib.sha256(_bytes(path, key)).hexdigest() for key, path in _paths(sections)}


def _paths(sections: Mapping[str, Any]) -> Iterator[tuple[str, Path]]:
    for name, keys in FILES.items():
        for key in keys:
            value = str(getattr(sections[name], key))
            if _is_file(name, value, Path()):
                yield f"{name}.{key}", Path(value)


def _bytes(path: Path, key: str) -> bytes:
    section, _, name = key.partition(".")
    try:
        return path.read_bytes()
    except OSError as problem:
        raise InputError(f"cannot be read: {problem.strerror}", f"[{section}] {name} = {path}", "relative paths count from the project file's folder") from problem
