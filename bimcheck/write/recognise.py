"""Tell our entities from the author's in a file that another program saved: their GlobalIds are derived again.

Numbers, order and formatting may have changed; the GlobalIds of panels and of ours, our names and the relationships
between them have not.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from bimcheck.write.guids import fingerprint, spaces, suffix, unmarked
from bimcheck.write.ours import HELPERS, KINDS, STATUS
from bimcheck.write.step_scan import GAP, Entity, references, strings
from bimcheck.write.step_text import unquoted

_FEW = 100  # more than the parts of one panel: a relationship of a type, whose base is the project
_MOST_HOLDERS = 64  # holders of one GlobalId in a run that are looked for
_GUID = re.compile(rb"[^(]*\(" + GAP + rb"'([^']*)'", re.S)


class Statements:
    """Statements of a file with what they refer to, read once."""

    def __init__(self, data: bytes, all_entities: list[Entity]) -> None:
        self.data, self.all = data, all_entities
        self.refs = {e.number: references(data[e.start : e.end])[1:] for e in all_entities}
        self.by_number = {e.number: e for e in all_entities}
        self.guids = {e.number: found[1].decode("ascii", "replace") for e in all_entities
                      if e.type not in HELPERS and (found := _GUID.match(data, e.start, e.end))}
        distinct = list(dict.fromkeys(self.guids.values()))
        self.roots = dict(zip(distinct, spaces(distinct), strict=True))

    def texts(self, number: int) -> list[str]:
        entity = self.by_number[number]
        return [unquoted(s) for s in strings(self.data[entity.start : entity.end])]


def recognise(file: Statements) -> set[int]:
    """Numbers of the rooted entities whose GlobalId derives from what they belong to."""
    guids, roots = file.guids, file.roots
    candidates = {n: unmarked(roots[g]) for n, g in guids.items() if file.by_number[n].type in KINDS and roots[g][6] >> 4 == 5}
    holders: dict[int, list[int]] = {}
    for number in candidates:
        for ref in file.refs[number]:
            holders.setdefault(ref, []).append(number)
    projects = [roots[g] for n, g in guids.items() if file.by_number[n].type == b"IFCPROJECT"]
    bases = {roots[guids[r]] for n in candidates for r in file.refs[n] if r in guids and file.by_number[r].type not in KINDS}
    times = _ordinals(bases, set(candidates.values()))
    return {n for n, wanted in candidates.items()
            if wanted in _possible(file, n, holders.get(n, []), projects, times)}


def _ordinals(bases: set[bytes], wanted: set[bytes]) -> dict[bytes, list[int]]:
    """Which holders of each GlobalId ours hang on: every element considered has a status, and its link tells."""
    names = [suffix("set-link", STATUS, n) for n in range(_MOST_HOLDERS)]
    out: dict[bytes, list[int]] = {}
    for root in bases:
        first = fingerprint(root, names[0]) in wanted
        more = [n for n in range(1, 2 if first else _MOST_HOLDERS) if fingerprint(root, names[n]) in wanted]
        if more:
            more = [n for n in range(_MOST_HOLDERS) if fingerprint(root, names[n]) in wanted]
        out[root] = more or [0]
    return out


def _possible(file: Statements, number: int, holders: list[int], projects: Iterable[bytes],
              times: dict[bytes, list[int]]) -> Iterable[bytes]:
    """Fingerprints the entity could have, from what it and its relationships refer to and the texts they carry."""
    close = [n for n in (number, *holders) if len(file.refs[n]) <= _FEW]
    near = dict.fromkeys(file.guids[r] for r in (*(r for n in close for r in file.refs[n]), *holders)
                         if r != number and r in file.guids)
    texts = dict.fromkeys(s for n in dict.fromkeys((number, *close)) for s in ("", *file.texts(n)[1:]))
    for root in (*(file.roots[g] for g in near), *projects):
        for ordinal in times.get(root, [0]):
            for kind in KINDS[file.by_number[number].type]:
                slots = near if kind == "support" else texts  # a connection's slot is its support
                yield from (fingerprint(root, suffix(kind, slot, ordinal)) for slot in slots)
