"""Where things stand in the text of a STEP file (ISO 10303-21), found on its bytes without building a model."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.errors import InputError

GAP = rb"(?:\s++|/\*.*?\*/)*+"  # white space and comments between tokens (ISO 10303-21, 5.6 and 6.7)
STRING = rb"'[^']*+'"  # a doubled quote reads as two strings side by side, which does as well for skipping
BODY = rb"(?:[^;'/]++|" + STRING + rb"|/\*.*?\*/|/(?!\*))*+"
STATEMENT = re.compile(GAP + rb"(" + BODY + rb");", re.S)
ENTITY = re.compile(
    GAP + rb"(#0*(\d+)" + GAP + rb"=" + GAP + rb"([A-Z0-9_]*)(" + BODY + rb");)", re.S
)
_END = rb"ENDSEC" + GAP + rb";"
_CLOSING = re.compile(_END + GAP + rb"END-ISO-10303-21" + GAP + rb";" + GAP + rb"[\0\x1a\s]*\Z", re.S)
_OPENING = re.compile(_END + GAP + rb"DATA" + GAP + rb"(?:\(" + BODY + rb")?;", re.S)
_LITERALS = re.compile(rb"((?:" + STRING + rb")+)|/\*.*?\*/", re.S)
_TOKENS = re.compile(rb"(" + STRING + rb")|/\*.*?\*/", re.S)

LARGEST_ID = 2**31 - 1  # readers keep entity numbers in 32 bits
_CHUNK = 1 << 20
_LONGEST = 32  # digits of one number looked at


@dataclass(frozen=True)
class Bounds:
    """The parts of a file: bytes [0, data) header, [data, end) entities, [end, ...) the last ENDSEC and what follows."""

    data: int
    end: int
    eol: bytes
    schema: str
    time_stamp: str


@dataclass(frozen=True)
class Entity:
    """One instance `#number=TYPE(...);` at bytes [start, end); `type` is empty for a complex instance."""

    number: int
    type: bytes
    start: int
    end: int


def bounds(data: bytes, where: str = "") -> Bounds:
    """Find the DATA section.  Raises InputError unless there is exactly one and it is closed."""
    if not data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"ISO-10303-21"):
        raise InputError("not an IFC file in STEP text form", where, "export it as .ifc (IFC-SPF)")
    start, end = _fast_section(data) or _slow_section(data, where)
    header = data[:start]
    return Bounds(start, end, b"\r\n" if b"\r\n" in header else b"\n", *_header_facts(header))


def _fast_section(data: bytes) -> tuple[int, int] | None:
    """The usual file: two ENDSEC in all, the second right before the closing line."""
    last = data.rfind(b"ENDSEC")
    if data.count(b"ENDSEC") != 2 or not _CLOSING.match(data, last):
        return None
    opening = _OPENING.match(data, data.find(b"ENDSEC"))
    return (opening.end(), last) if opening else None


def _slow_section(data: bytes, where: str) -> tuple[int, int]:
    """Read every statement, since the word ENDSEC also stands in a text or a comment."""
    sections: list[tuple[bytes, int, int]] = []
    name, start, closed = b"", 0, False
    for found in STATEMENT.finditer(data):
        word = re.match(rb"[A-Z0-9-]*", found[1])[0]  # type: ignore[index]
        if word == b"ENDSEC":
            sections.append((name, start, found.start(1)))
            name = b""
        elif word == b"END-ISO-10303-21":
            closed = not name
        elif not name and word != b"ISO-10303-21":
            name, start = word, found.end()
    return _only_section(sections, closed, where)


def _only_section(sections: list[tuple[bytes, int, int]], closed: bool, where: str) -> tuple[int, int]:
    names = [name for name, _, _ in sections]
    if not closed:
        raise InputError("the file breaks off before its last line END-ISO-10303-21", where, "export the model again")
    if names != [b"HEADER", b"DATA"]:
        text = b", ".join(names).decode("ascii", "replace")
        raise InputError(f"the file has the sections {text}; only HEADER and one DATA are understood", where,
                         "export the model with a single DATA section")
    return sections[1][1:]


def _header_facts(header: bytes) -> tuple[str, str]:
    """(schema name, time stamp) as the header gives them; empty where it does not."""
    plain = _TOKENS.sub(lambda m: m[1] or b" ", header)
    schema = re.search(rb"FILE_SCHEMA\s*\(\s*\(\s*'([^']*)'", plain)
    stamp = re.search(rb"FILE_NAME\s*\(\s*(?:'[^']*'\s*)+,\s*'([^']*)'", plain)
    return tuple(m[1].decode("ascii", "replace").strip() if m else "" for m in (schema, stamp))  # type: ignore[return-value]


def entities(data: bytes, where: Bounds) -> Iterator[Entity]:
    """Every instance of the DATA section in order, strings and comments respected.

    Raises InputError at the first place that is no instance.
    """
    at = where.data
    while found := ENTITY.match(data, at, where.end):
        at = found.end()
        yield Entity(int(found[2]), found[3], found.start(1), at)
    if re.match(GAP + rb"\Z", data[at:where.end], re.S) is None:
        line = data.count(b"\n", 0, at) + 1
        raise InputError("the text cannot be read as STEP entities", f"line {line}", "export the model again")


def largest_number(data: bytes, where: Bounds) -> int:
    """The largest number after any '#', so that ours collide with no entity and with no dangling reference.

    Raises InputError where no entity number is left above it.
    """
    found = max((_largest(data[i : min(i + _CHUNK + _LONGEST, where.end)]) for i in range(where.data, where.end, _CHUNK)),
                default=0)
    if found > LARGEST_ID // 2:  # perhaps only a number in somebody's text
        found = max((e.number for e in entities(data, where)), default=0)
    if found > LARGEST_ID // 2:
        raise InputError(f"entity numbers reach #{found}", "", "renumber the file: no room is left for new entities")
    return found


def _largest(chunk: bytes) -> int:
    """The largest '#number' of a chunk: keep the longest numbers, then the largest digit after digit."""
    text = np.frombuffer(chunk + bytes(_LONGEST + 2), np.uint8)
    at = np.flatnonzero(text[: len(chunk)] == ord("#")) + 1
    at = _skip_zeros(text, at)
    length = 0
    while length < _LONGEST and (longer := _is_digit(text[at + length])).any():
        at = at[longer]
        length += 1
    for place in range(length):
        digit = text[at + place]
        at = at[digit == digit.max()]
    return int(bytes(text[at[0] : at[0] + length])) if length else 0


def _skip_zeros(text: NDArray[np.uint8], at: NDArray[np.int64]) -> NDArray[np.int64]:
    for _ in range(_LONGEST):
        zero = text[np.minimum(at, len(text) - 1)] == ord("0")
        if not zero.any():
            break
        at = at + zero
    return np.minimum(at, len(text) - _LONGEST - 1)


def _is_digit(text: NDArray[np.uint8]) -> NDArray[np.bool_]:
    return (text - np.uint8(ord("0"))) < 10


def references(text: bytes) -> list[int]:
    """The entity numbers a statement refers to, outside its strings and comments."""
    return [int(n) for n in re.findall(rb"#(\d+)", _TOKENS.sub(b"", text))]


def strings(text: bytes) -> list[bytes]:
    """The string literals of a statement, still encoded, without their outer quotes."""
    return [m[1][1:-1] for m in _LITERALS.finditer(text) if m[1]]
