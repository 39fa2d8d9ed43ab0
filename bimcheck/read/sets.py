"""The property sets of elements: the few properties that matter here, and names that an element has twice."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged
from bimcheck.read.source import Source

Ints = NDArray[np.int64]
SURFACE = ("Finish", "SurfaceFinish", "Surface", "Colour", "Color", "Farbe", "Oberflaeche", "Oberfläche", "Couleur")
WANTED = {"Reference", *SURFACE}
NAME, VALUE = 0, 2  # attributes of IfcPropertySingleValue
RELATIONS = ("IFCRELDEFINESBYPROPERTIES", "IFCRELOVERRIDESPROPERTIES")
START = 7  # bytes of an opening quote and of what all ways to write a wanted name have in common
_LABEL = re.compile(rb"[A-Z0-9_]+\s*\(\s*('[^\\']*')\s*\)")


@dataclass(frozen=True)
class Sets:
    """By element number: wanted properties by name; names of property sets it carries twice."""

    properties: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    twice: Mapping[int, tuple[str, ...]] = field(default_factory=dict)


def read_sets(source: Source, elements: Ints) -> Sets:
    """Of the elements (rising numbers); of equal names the later set's value stands."""
    pairs = _pairs(source, elements)
    step = source.step
    sets = np.unique(pairs[:, 1])
    read = _interesting(source, sets)
    properties: dict[int, dict[str, str]] = {}
    for element, key in pairs[np.isin(pairs[:, 1], list(read))].tolist():
        properties.setdefault(element, {}).update(read[key])
    several = pairs[np.isin(pairs[:, 0], _repeated(pairs[:, 0]))]
    shared = np.unique(several[:, 1]).tolist()
    names = {n: source.text(step.attributes(r)[2], n, 2) for n, r in zip(shared, step.rows(shared).tolist(), strict=True)}
    return Sets(properties, _twice(several, names))


def _pairs(source: Source, elements: Ints) -> Ints:
    """(k, 2) element and property set, in the order of the relationships."""
    found = source.step.values(source.step.of(*RELATIONS))
    rows = source.step.rows(found.values)
    is_set = source.is_a(rows, "IfcPropertySet")
    at = np.flatnonzero(np.isin(found.values, elements))
    relation, sets = found.rows, np.flatnonzero(is_set)
    # A relationship gives one set to its elements, rarely several: the k-th of each.
    rank = np.arange(len(sets)) - np.searchsorted(relation[sets], relation[sets])
    out = []
    for k in range(int(rank.max(initial=-1)) + 1):
        number = np.zeros(len(found), dtype=np.int64)
        some = sets[rank == k]
        number[relation[some]] = found.values[some]
        mine = at[number[relation[at]] > 0]
        out.append(np.column_stack([found.values[mine].astype(np.int64), number[relation[mine]], relation[mine]]))
    pairs = np.concatenate([np.zeros((0, 3), np.int64), *out])
    return pairs[np.argsort(pairs[:, 2], kind="stable"), :2]


def _interesting(source: Source, sets: Ints) -> dict[int, dict[str, str]]:
    """Wanted properties of sets that have any."""
    values = _wanted_values(source)
    step = source.step
    listed: Ragged = step.values(step.rows(sets))
    out: dict[int, dict[str, str]] = {}
    at = np.flatnonzero(np.isin(listed.values, list(values)))
    for key, number in zip(sets[listed.rows[at]].tolist(), listed.values[at].astype(np.int64).tolist(), strict=True):
        name, value = values[number]
        out.setdefault(key, {})[name] = value
    return out


def _wanted_values(source: Source) -> dict[int, tuple[str, str]]:
    step = source.step
    out = {}
    rows = step.of("IFCPROPERTYSINGLEVALUE")
    for row in rows[_begin_alike(step.data, step.begin[rows])].tolist():
        number, written = int(step.numbers[row]), step.attributes(row)
        name = source.text(written[NAME], number, NAME)
        if name in WANTED and len(written) > VALUE and written[VALUE] != b"$":
            label = _LABEL.fullmatch(written[VALUE])
            value = source.text(label[1], number, VALUE) if label and label[1].isascii() else str(source.file.by_id(number)[VALUE][0])
            out[number] = (name, value)
    return out


def _begin_alike(data: bytes, begin: Ints) -> NDArray[np.bool_]:
    """(n,) whether the text begins as one of the wanted names; whatever it is encoded in."""
    text = np.frombuffer(data, np.uint8)
    own = text[begin[:, None] + np.arange(START)]
    starts = np.array([list(f"'{name}'".encode()[:START]) for name in WANTED], dtype=np.uint8)
    return (own[:, None] == starts).all(axis=2).any(axis=1)


def _repeated(values: Ints) -> Ints:
    found, count = np.unique(values, return_counts=True)
    return found[count > 1]


def _twice(pairs: Ints, names: Mapping[int, str]) -> dict[int, tuple[str, ...]]:
    own: dict[int, list[str]] = {}
    for element, key in pairs.tolist():
        own.setdefault(element, []).append(names[key])
    return {e: tuple(sorted({n for n in listed if n and listed.count(n) > 1})) for e, listed in own.items() if len(set(listed)) < len(listed)}
