"""Our block in a STEP file: one contiguous piece before the last ENDSEC, so that all else stays byte for byte."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from hashlib import sha256

from bimcheck.core.errors import InputError
from bimcheck.write.ours import RUN
from bimcheck.write.step_scan import ENTITY, LARGEST_ID, Bounds, bounds, largest_number

_MARK = " added to the file with SHA-256 "
_RECORD = re.compile(
    rb"#(\d+)=IFCPROPERTYSET\('[^']{22}',(?:\$|#\d+),'" + RUN.encode()
    + rb"','entities #(\d+) to #(\d+)" + _MARK.encode() + rb"([0-9a-f]{64})'"
)


@dataclass(frozen=True)
class Insertion:
    """Where and from which number on a block goes into `original`."""

    original: bytes
    bounds: Bounds
    first: int
    sha256: str


def insertion(original: bytes, where: str = "") -> Insertion:
    """Look at a file without a block of ours.  Raises InputError where it is not one well-formed DATA section."""
    found = bounds(original, where)
    return Insertion(original, found, largest_number(original, found) + 1, sha256(original).hexdigest())


def record_text(place: Insertion, last: int) -> str:
    """The description of the run record, the block's first entity; `cut` finds the block by it."""
    if last > LARGEST_ID:
        raise InputError(f"entity numbers would reach #{last}", "", "renumber the file or write fewer outputs into it")
    return f"entities #{place.first} to #{last}{_MARK}{place.sha256}"


def pieces(place: Insertion, block: Iterable[str | bytes]) -> Iterator[bytes | memoryview]:
    """The enriched file in order; lines of `block` end in a line feed and get the file's own line ends."""
    view, at, eol = memoryview(place.original), place.bounds.end, place.bounds.eol
    yield view[:at]
    if place.original[at - 1 : at] not in (b"\n", b"\r"):
        yield eol
    for text in block:
        data = text.encode("ascii") if isinstance(text, str) else text
        yield data if eol == b"\n" else data.replace(b"\n", eol)
    yield view[at:]


def append(place: Insertion, block: Iterable[str | bytes]) -> bytes:
    """The enriched file."""
    return b"".join(pieces(place, block))


@dataclass(frozen=True)
class Cut:
    data: bytes
    removed: int


def cut(data: bytes) -> Cut | None:
    """The author's file without our block, proved by its hash; None where there is no untouched block."""
    record = _last_record(data)
    if record is None or record[1] != record[2]:
        return None
    first, last, digest = int(record[2]), int(record[3]), record[4].decode()
    start, end = record.start(), bounds(data).end
    if not _only_ours(data[start:end], first, last):
        return None
    for stop in (start, *(start - len(eol) for eol in (b"\n", b"\r\n") if data[:start].endswith(eol))):
        author = data[:stop] + data[end:]
        if sha256(author).hexdigest() == digest:
            return Cut(author, last - first + 1)
    return None


def _only_ours(block: bytes, first: int, last: int) -> bool:
    """Whether the piece from the record on is the block alone: one entity a line, from the first to the last number."""
    final = ENTITY.match(block, block.rfind(b"\n#") + 1)
    return bool(final and int(final[2]) == last and not block[final.end() :].strip()
                and block.count(b"\n#") == last - first)


def _last_record(data: bytes) -> re.Match[bytes] | None:
    at = data.rfind(_MARK.encode())
    found = list(_RECORD.finditer(data, max(at - 200, 0), at + 200)) if at > 0 else []
    return found[-1] if found else None
