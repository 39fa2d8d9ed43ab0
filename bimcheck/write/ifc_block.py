"""Building the block: numbers in order, lines by the column, equal values written once."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.write.guids import derive, spaces, suffix
from bimcheck.write.ifc_model import ModelFacts

IN_MEMORY, PIECE = 4 << 20, 1 << 20  # bytes of text kept in memory; read back at once
AT_ONCE = 4096  # lines put together before they are written
NONE = ""  # the reference of a value that is not there


class Spool:
    """ASCII text in the order it was added, on disk once it is long."""

    def __init__(self) -> None:
        self._file = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115  (lives as long as the block)

    def append(self, text: str) -> None:
        self._file.write(text.encode("ascii"))

    def __iter__(self) -> Iterator[bytes]:
        """From the beginning, in pieces."""
        self._file.seek(0)
        while piece := self._file.read(PIECE):
            yield piece


@dataclass
class Block:
    """Lines of a block under construction; `owner` is the owner history every rooted entity refers to."""

    next: int
    facts: ModelFacts
    owner: str = "$"
    text: Spool = field(default_factory=Spool)
    written: dict[str, str] = field(default_factory=dict)

    def take(self, n: int) -> range:
        """The next `n` entity numbers."""
        numbers = range(self.next, self.next + n)
        self.next += n
        return numbers

    def add(self, lines: Iterable[str]) -> None:
        """Lines whose numbers were taken before, as `#1=TYPE(...)` without the end."""
        rest = iter(lines)
        while some := list(islice(rest, AT_ONCE)):
            self.text.append(";\n".join(some) + ";\n")

    def one(self, body: str) -> str:
        """Write one entity; returns its reference."""
        number = self.take(1)[0]
        self.text.append(f"#{number}={body};\n")
        return f"#{number}"

    def once(self, body: str) -> str:
        """Write one entity unless the same was written with `once` before; returns its reference."""
        if body not in self.written:
            self.written[body] = self.one(body)
        return self.written[body]

    def many(self, bodies: Sequence[str]) -> list[str]:
        """Write entities; returns their references."""
        return self.each(len(bodies), bodies)

    def each(self, n: int, bodies: Iterable[str]) -> list[str]:
        """`many` for bodies that are made as they are written."""
        numbers = self.take(n)
        self.add(f"#{k}={b}" for k, b in zip(numbers, bodies, strict=True))
        return [f"#{k}" for k in numbers]

    def shared(self, bodies: Sequence[str], known: dict[str, str] | None = None) -> list[str]:
        """Write each distinct entity once; returns a reference for every body given.  known: written so in earlier calls."""
        refs = {} if known is None else known
        new = [b for b in dict.fromkeys(bodies) if b not in refs]
        refs.update(zip(new, self.many(new), strict=True))
        return [refs[b] for b in bodies]


@dataclass(frozen=True)
class Holders:
    """Elements that ours hang on: reference, id space, and what tells later holders of one GlobalId apart."""

    refs: list[str]
    spaces: list[bytes]
    tails: list[bytes]

    @staticmethod
    def of(step_ids: Iterable[int], guids: Iterable[str], ordinals: Iterable[int]) -> Holders:
        return Holders([f"#{i}" for i in step_ids], spaces(list(guids)),
                       [f"/{n}".encode() if n else b"" for n in ordinals])

    def ids(self, kind: str, slot: str, rows: Iterable[int] | None = None) -> list[str]:
        """GlobalIds of `kind` at `slot`, of all or of the given rows."""
        chosen = range(len(self.refs)) if rows is None else list(rows)
        base = suffix(kind, slot)
        return derive([self.spaces[r] for r in chosen], [base + self.tails[r] for r in chosen])

    def slot_ids(self, kind: str, slots: Iterable[str], rows: Iterable[int]) -> list[str]:
        """GlobalIds of `kind`, each at its own slot of its own row."""
        rows = list(rows)
        names = [suffix(kind, s) + self.tails[r] for s, r in zip(slots, rows, strict=True)]
        return derive([self.spaces[r] for r in rows], names)


@dataclass(frozen=True)
class Subjects:
    """Elements of one file that get something of ours.

    columns: (n,) arrays by name.  taken: rows by set name that already have a set of that name which is not ours.
    """

    holders: Holders
    columns: Mapping[str, Any]
    taken: Mapping[str, frozenset[int]]


def ordinals(guids: Sequence[str], files: Sequence[int], step_ids: Sequence[int]) -> NDArray[np.int64]:
    """(n,) 0 for the first holder of a GlobalId, 1.. for later ones, by file, then entity number."""
    out = [0] * len(guids)
    seen: dict[str, int] = {}
    order: list[int] = np.lexsort((np.asarray(step_ids), np.asarray(files))).tolist()
    for i in order:
        out[i] = seen.get(guids[i], 0)
        seen[guids[i]] = out[i] + 1
    return np.array(out, np.int64)
