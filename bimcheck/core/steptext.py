"""The entities of a STEP file (ISO 10303-21) as columns, taken from its text: whole types at once, no entity is built."""

from __future__ import annotations

import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged

Ints = NDArray[np.int64]
Floats = NDArray[Any]  # of float64
SLICE = 1 << 20  # bytes looked at together: they stay near the processor
AT_ONCE = 1 << 15  # entities whose attributes are taken apart together
SPACE = np.isin(np.arange(256), list(b" \t\r\n"))
LOWEST = np.array([(1 << 8 * k) - 1 for k in range(9)], dtype=np.uint64)  # masks of a word's first k bytes
LONGEST = 16  # digits of an entity number, white space between tokens
_NUMERIC = b"0123456789.,;()#$*+-E"
_DATA = re.compile(rb"\n\s*DATA\s*;")
_QUOTED = re.compile(rb"(?:'[^']*')+")
_WORD = re.compile(rb"\.[A-Z_][A-Z0-9_]*\.|\"[0-9A-F]*\"")  # enumeration, binary
_TYPED = re.compile(rb"[A-Z][A-Z0-9_]+(?=\()")
_LIST = rb"\((?:[^()']|'[^']*'|\([^()]*\))*+\)"
_ATTRIBUTE = re.compile(rb"(?:'[^']*')+|" + _LIST + rb"|[^,'()\s]+(?:\s*" + _LIST + rb")?")


@dataclass(frozen=True)
class Step:
    """Entities by rising number.

    numbers, kinds, begin, end: (n,) entity number, index in `names` (of types, in upper case), span of the attributes.
    """

    data: bytes = field(repr=False)
    numbers: Ints
    kinds: NDArray[np.int32]
    begin: Ints
    end: Ints
    names: list[str]

    def of_kinds(self, kinds: Iterable[int]) -> Ints:
        """Rows of types given by their index."""
        return np.flatnonzero(np.isin(self.kinds, list(kinds)))

    def of(self, *names: str) -> Ints:
        """Rows of types given by name, without subtypes."""
        return self.of_kinds([self.names.index(n) for n in names if n in self.names])

    def rows(self, numbers: Any) -> Ints:
        """Rows of entity numbers; -1 where there is no such entity, as for nan."""
        wanted = np.nan_to_num(np.asarray(numbers, dtype=float), nan=-1.0).astype(np.int64)
        if not len(self.numbers):
            return np.full(wanted.shape, -1, dtype=np.int64)
        at = np.minimum(np.searchsorted(self.numbers, wanted), len(self.numbers) - 1)
        return np.where(self.numbers[at] == wanted, at, -1)

    def is_one(self, numbers: Any, *names: str) -> NDArray[np.bool_]:
        """Whether entity numbers are of one of these types."""
        rows = self.rows(numbers)
        codes = [self.names.index(n) for n in names if n in self.names]
        return (rows >= 0) & np.isin(self.kinds[rows], codes) if codes else np.zeros(rows.shape, dtype=bool)

    def values(self, rows: Ints) -> Ragged:
        """All attributes of each row as numbers, lists laid flat: references as entity numbers, .T. and .F. as 1 and 0;
        nan for what is no number, for an absent attribute and for an empty list."""
        parts = [self._values(rows[i : i + AT_ONCE]) for i in range(0, len(rows), AT_ONCE)]
        lengths = [np.zeros(1, np.int64), *(n for _, n in parts)]
        return Ragged(np.concatenate([np.zeros(0), *(v for v, _ in parts)]), np.cumsum(np.concatenate(lengths)))

    def spans(self, rows: Ints) -> list[bytes]:
        """The attributes of rows as they are written."""
        data = self.data
        return [data[a:b] for a, b in zip(self.begin[rows].tolist(), self.end[rows].tolist(), strict=True)]

    def _values(self, rows: Ints) -> tuple[Floats, Ints]:
        text = b";".join(self.spans(rows))
        text = _QUOTED.sub(b"$", text) if b"'" in text else text
        if text.translate(None, _NUMERIC):
            text = _TYPED.sub(b"", _WORD.sub(b"$", text.replace(b".T.", b"1").replace(b".F.", b"0"))).translate(None, b" \t\r\n")
        text = text.replace(b"()", b"$").translate(None, b"()#").replace(b"*", b"$") + b";"
        marks = np.frombuffer(text, np.uint8)
        ends, commas = np.flatnonzero(marks == ord(";")), np.flatnonzero(marks == ord(","))
        lengths = np.diff(np.searchsorted(commas, ends), prepend=0) + 1
        return _floats(text[:-1].replace(b";", b",")), lengths

    def columns(self, numbers: Any, name: str, width: int) -> tuple[Floats, NDArray[np.bool_]]:
        """(n, width) values of entities of one type, and (n,) whether it is one and has no more values than that.

        Missing values at the end are nan, as is every value of another entity.
        """
        rows, ok = self.rows(numbers), self.is_one(numbers, name)
        out = np.full((len(rows), width), np.nan)
        own, back = np.unique(rows[ok], return_inverse=True)
        found = self.values(own)
        fits = found.lengths <= width
        table = np.full((len(own), width), np.nan)
        at = np.flatnonzero(fits[found.rows])
        table[found.rows[at], (np.arange(len(found.values)) - found.offsets[found.rows])[at]] = found.values[at]
        out[ok] = table[back]
        ok[ok] = fits[back]
        return out, ok

    def attributes(self, row: int, count: int = 0) -> list[bytes]:
        """The attributes of one row as they are written, lists whole; count: how many the schema says there are."""
        span = self.data[self.begin[row] : self.end[row]]
        parts = span.split(b",")  # as many as there should be: no comma stands in a text or list
        if len(parts) == count and b", " not in span and b" ," not in span and b"\n" not in span:
            return parts
        return _ATTRIBUTE.findall(span)


def _floats(text: bytes) -> Floats:
    """Numbers between commas; nan for what is none."""
    if not any(mark in text for mark in (b".", b"-", b"E")):  # references and counts
        with suppress(ValueError):
            whole = np.fromstring(text.replace(b"$", b"-1"), dtype=np.int64, sep=",")
            return np.where(whole < 0, np.nan, whole)
    text = text.replace(b"$", b"nan")
    try:
        return np.fromstring(text, sep=",")
    except ValueError:  # some exporters write what no real number looks like
        return np.array([_float(word) for word in text.split(b",")])


def _float(word: bytes) -> float:
    try:
        return float(word)
    except ValueError:
        return np.nan


def parse(data: bytes) -> Step | None:
    """None where the text is laid out in a way that is not understood here (comments, tabs, several sections ...)."""
    opening, closing = _DATA.search(data), data.rfind(b"ENDSEC")
    if opening is None or data.find(b"ENDSEC", opening.end()) != closing or any(data.find(odd, opening.end()) >= 0 for odd in (b"/*", b"\t")):
        return None
    text = np.frombuffer(data, np.uint8)
    place, mark = _marks(text, opening.end(), closing)
    equal = np.flatnonzero(mark == ord("="))
    ends = place[mark == ord(";")]
    first = place[np.minimum(equal + 1, len(place) - 1)]
    equal = place[equal]
    if len(ends) != len(equal) or not len(ends) or not (text[first] == ord("(")).all():
        return None
    if not ((equal < ends) & (equal > np.r_[opening.end() - 1, ends[:-1]])).all():
        return None
    number, before = _numbers(text, equal)
    last = _skipped(text, ends - 1, -1)
    left = _skipped(text, before - 1, -1)
    if not ((text[before] == ord("#")) & (text[last] == ord(")")) & (left <= np.r_[opening.end() - 1, ends[:-1]])).all():
        return None
    order = np.argsort(number, kind="stable")
    if (np.diff(number[order]) == 0).any():
        return None
    kinds, names = _kinds(data, equal + 1, first)
    return Step(data, number[order], kinds[order], _skipped(text, first + 1, 1)[order], last[order], names)


def _marks(text: NDArray[np.uint8], begin: int, end: int) -> tuple[Ints, NDArray[np.uint8]]:
    """Places of ( ; = outside strings, and which it is."""
    places, marks, inside = [], [], 0
    for low in range(begin, end, SLICE):
        part = text[low : min(low + SLICE, end)]
        at = np.flatnonzero((part == ord("'")) | (part == ord("(")) | (part == ord(";")) | (part == ord("=")))
        mark = part[at]
        quote = mark == ord("'")
        open_ = (np.cumsum(quote) + inside) & 1
        inside = int(open_[-1]) if len(open_) else inside
        keep = ~quote & (open_ == 0)
        places.append(at[keep] + low)
        marks.append(mark[keep])
    return np.concatenate([np.zeros(0, np.int64), *places]), np.concatenate([np.zeros(0, np.uint8), *marks])


def _numbers(text: NDArray[np.uint8], equal: Ints) -> tuple[Ints, Ints]:
    """The number before each equal sign and the place before it; LONGEST digits are looked at."""
    at = _skipped(text, equal - 1, -1)
    number, scale = np.zeros(len(at), np.int64), 1
    for _ in range(LONGEST):
        digit = text[at] - np.uint8(ord("0"))
        alive = digit < 10
        if not alive.any():
            break
        number += np.where(alive, digit, 0).astype(np.int64) * scale
        at, scale = at - alive, scale * 10
    return number, at


def _skipped(text: NDArray[np.uint8], at: Ints, step: int) -> Ints:
    """The places moved past white space, by at most LONGEST."""
    for _ in range(LONGEST):
        space = SPACE[text[at]]
        if not space.any():
            break
        at = at + step * space
    return at


def _kinds(data: bytes, begin: Ints, end: Ints) -> tuple[NDArray[np.int32], list[str]]:
    """Index of the name in each span, and the names; names are told apart by a number made of all their letters."""
    eights = np.ndarray(len(data) - 7, np.dtype("<u8"), data, strides=(1,))
    key = np.zeros(len(begin), np.uint64)
    with np.errstate(over="ignore"):
        for k in range(0, int((end - begin).max()), 8):
            part = eights[np.minimum(begin + k, len(eights) - 1)] & LOWEST[np.clip(end - begin - k, 0, 8)]
            key = (key ^ part) * np.uint64(0x9E3779B97F4A7C15)
            key ^= key >> np.uint64(29)
    bucket = (key >> np.uint64(48)).astype(np.int64)
    holder = np.full(1 << 16, -1)
    holder[bucket] = np.arange(len(key))
    if (key[holder[bucket]] != key).any():  # two names in one bucket
        _, first, code = np.unique(key, return_index=True, return_inverse=True)
    else:
        first = holder[holder >= 0]
        code = (np.cumsum(holder >= 0) - 1)[bucket]
    plain = [data[begin[i] : end[i]].strip().decode("ascii", "replace").upper() for i in first.tolist()]
    names = list(dict.fromkeys(plain))
    return np.array([names.index(name) for name in plain], dtype=np.int32)[code], names
