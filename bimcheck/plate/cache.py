"""Solved layouts kept between runs: one SQLite file in the cache folder, safe to delete, safe with two runs at once.

A file of an older solver has another name; a file that cannot be read or written is as good as none.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, suppress
from pathlib import Path

VERSION = 3  # of the solver's numbers: raise it whenever a result may change
MOST = 200_000  # layouts kept; the oldest go first
AT_ONCE = 500  # keys in one query


def folder(environment: Mapping[str, str] = os.environ) -> Path:
    """BIMCHECK_CACHE_DIR, else the user's cache folder of the platform."""
    named = environment.get("BIMCHECK_CACHE_DIR")
    if named:
        return Path(named)
    if sys.platform == "win32":
        return Path(environment.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "bimcheck"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "bimcheck"
    return Path(environment.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "bimcheck"


def file(where: Path | None = None) -> Path:
    return (where or folder()) / f"plates-{VERSION}.sqlite"


def load(keys: Sequence[bytes], where: Path | None = None) -> dict[bytes, bytes]:
    """Records of those `keys` that are kept."""
    found: dict[bytes, bytes] = {}
    if not os.access(file(where), os.R_OK):  # none yet, or a folder closed to us: solve again
        return found
    with suppress(sqlite3.Error, OSError), _open(file(where)) as data:
        for start in range(0, len(keys), AT_ONCE):
            part = keys[start : start + AT_ONCE]
            marks = ",".join("?" * len(part))
            found.update(data.execute(f"SELECT key, record FROM layouts WHERE key IN ({marks})", part))
    return found


def keep(records: Mapping[bytes, bytes], where: Path | None = None) -> None:
    """Keep records, all or none of them."""
    if not records:
        return
    with suppress(sqlite3.Error, OSError):
        file(where).parent.mkdir(parents=True, exist_ok=True)
        try:
            _write(file(where), records)
        except sqlite3.DatabaseError as error:
            if isinstance(error, sqlite3.OperationalError):
                raise  # locked or out of space: leave it to the next run
            file(where).unlink(missing_ok=True)
            _write(file(where), records)


def _write(path: Path, records: Mapping[bytes, bytes]) -> None:
    with _open(path) as data, data:
        data.execute("CREATE TABLE IF NOT EXISTS layouts (id INTEGER PRIMARY KEY, key BLOB UNIQUE, record BLOB)")
        data.executemany("INSERT OR REPLACE INTO layouts (key, record) VALUES (?, ?)", sorted(records.items()))
        data.execute("DELETE FROM layouts WHERE id <= (SELECT MAX(id) FROM layouts) - ?", (MOST,))


@contextmanager
def _open(path: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(path, timeout=10.0)) as data:
        yield data
