"""Take our entities out of a file again: the exact block where it stands untouched, else statement by statement."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Set
from dataclasses import dataclass

from bimcheck.write.ours import HELPERS
from bimcheck.write.recognise import Statements, recognise
from bimcheck.write.step_block import cut
from bimcheck.write.step_scan import Entity, bounds, entities, references

_PARTS = re.compile(rb"'[^']*'|/\*.*?\*/|[(),]|[^'(),/]+|/", re.S)


@dataclass(frozen=True)
class Stripped:
    """exact: `data` is the author's file, byte for byte; removed: number of entities taken out."""

    data: bytes
    exact: bool
    removed: int


def strip(data: bytes, where: str = "") -> Stripped:
    """The file without our entities.  Raises InputError where it cannot be read."""
    found = bounds(data, where)
    if b"imcheck" not in data:
        return Stripped(data, True, 0)
    untouched = cut(data)
    if untouched is not None:
        return Stripped(untouched.data, True, untouched.removed)
    file = Statements(data, list(entities(data, found)))
    gone = _with_orphans(file, recognise(file))
    return Stripped(_splice(file, gone), not gone, len(gone)) if gone else Stripped(data, True, 0)


def _with_orphans(file: Statements, gone: set[int]) -> set[int]:
    """Ours and the helpers that nothing else uses."""
    uses = Counter(r for refs in file.refs.values() for r in refs)
    gone, waiting = set(gone), list(gone)
    while waiting:
        for ref in file.refs[waiting.pop()]:
            uses[ref] -= 1
            entity = file.by_number.get(ref)
            if not uses[ref] and entity and entity.type in HELPERS and ref not in gone:
                gone.add(ref)
                waiting.append(ref)
    return gone


def _splice(file: Statements, gone: set[int]) -> bytes:
    """The text without the statements `gone`; later references to them are taken out of the lists they stand in."""
    gone = set(gone)
    while dangling := [e for e in file.all if e.number not in gone and not gone.isdisjoint(file.refs[e.number])]:
        lost = {e.number for e in dangling if without(file.data[e.start : e.end], gone) is None}
        if not lost:
            break
        gone |= lost
    changed = {e.number: without(file.data[e.start : e.end], gone) or b"" for e in dangling}
    return b"".join(_kept(file, gone, changed))


def _kept(file: Statements, gone: set[int], changed: dict[int, bytes]) -> Iterator[bytes]:
    at = 0
    for e in file.all:
        if e.number in gone or e.number in changed:
            yield file.data[at : e.start]
            yield changed.get(e.number, b"") if e.number not in gone else b""
            at = e.end if e.number not in gone else _line_end(file.data, e)
    yield file.data[at:]


def _line_end(data: bytes, entity: Entity) -> int:
    """After the line of a statement that stands alone on it, else right after the statement."""
    alone = entity.start == 0 or data[entity.start - 1 : entity.start] in (b"\n", b"\r")
    rest = re.compile(rb"[ \t]*\r?\n").match(data, entity.end)
    return rest.end() if alone and rest else entity.end


def without(statement: bytes, gone: Set[int]) -> bytes | None:
    """The statement with `gone` taken out of its lists; None where an attribute itself or a whole list would go."""
    opening, closing = statement.index(b"("), statement.rindex(b")")
    attributes = [_filtered(a, gone) for a in _split(statement[opening + 1 : closing])]
    if any(a is None for a in attributes):
        return None
    return statement[: opening + 1] + b",".join(a for a in attributes if a is not None) + statement[closing:]


def _filtered(attribute: bytes, gone: Set[int]) -> bytes | None:
    text = attribute.strip()
    if text[:1] == b"#":
        return None if int(text[1:]) in gone else attribute
    if text[:1] != b"(" or gone.isdisjoint(references(text)):
        return attribute
    kept = [item for a in _split(text[1:-1]) if (item := _filtered(a, gone)) is not None]
    return b"(" + b",".join(kept) + b")" if kept else None


def _split(text: bytes) -> list[bytes]:
    """Cut at the commas outside strings, comments and inner parentheses."""
    items, depth = [b""], 0
    for part in _PARTS.findall(text):
        depth += (part == b"(") - (part == b")")
        if part == b"," and not depth:
            items.append(b"")
        else:
            items[-1] += part
    return items
