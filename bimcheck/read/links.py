"""The relationships of a file, each kind read at once: entity number -> number of what it belongs to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged
from bimcheck.read.source import Source

Ints = NDArray[np.int64]
SPATIAL = "IfcBuildingStorey"
OWN = 4  # attributes of any relationship before its own


@dataclass(frozen=True)
class Links:
    """By entity number: type object, material definition, parent element, parts, container, openings."""

    types: Mapping[int, int]
    materials: Mapping[int, int]
    parents: Mapping[int, int]
    parts: Mapping[int, list[int]]
    containers: Mapping[int, int]
    voids: Mapping[int, list[int]]


def read_links(source: Source) -> Links:
    step = source.step
    types, materials, containers = (dict(zip(*to_last(step.values(step.of(name))), strict=True)) for name in (
        "IFCRELDEFINESBYTYPE", "IFCRELASSOCIATESMATERIAL", "IFCRELCONTAINEDINSPATIALSTRUCTURE"))
    parents: dict[int, int] = {}
    parts: dict[int, list[int]] = {}
    for whole, part in _decomposed(source):
        parts.setdefault(whole, []).append(part)
        parents.setdefault(part, whole)
    voids: dict[int, list[int]] = {}
    for whole, opening in _from_first(step.values(step.of("IFCRELVOIDSELEMENT"))):
        voids.setdefault(whole, []).append(opening)
    return Links(types, materials, parents, parts, containers, voids)


def to_last(relations: Ragged) -> tuple[list[int], list[int]]:
    """Related objects, which stand in a list before the last attribute, and what the last one refers to."""
    last = relations.values[relations.offsets[1:] - 1][relations.rows]
    place = np.arange(len(relations.values)) - relations.offsets[relations.rows]
    use = (place >= OWN) & (place < relations.lengths[relations.rows] - 1) & np.isfinite(relations.values) & np.isfinite(last)
    return relations.values[use].astype(np.int64).tolist(), last[use].astype(np.int64).tolist()


def _from_first(relations: Ragged) -> Iterator[tuple[int, int]]:
    """(relating object, related object) where the former stands first."""
    at = np.minimum(relations.offsets[:-1] + OWN, len(relations.values) - 1)
    first = relations.values[at][relations.rows]
    place = np.arange(len(relations.values)) - relations.offsets[relations.rows]
    use = (place > OWN) & np.isfinite(relations.values) & np.isfinite(first)
    return zip(first[use].astype(np.int64).tolist(), relations.values[use].astype(np.int64).tolist(), strict=True)


def _decomposed(source: Source) -> Iterator[tuple[int, int]]:
    """(whole, part) of elements: aggregates first, then what is nested."""
    step = source.step
    for name in ("IFCRELAGGREGATES", "IFCRELNESTS"):
        pairs = np.array(list(_from_first(step.values(step.of(name)))), dtype=np.int64).reshape(-1, 2)
        both = source.is_a(step.rows(pairs), "IfcElement").all(axis=1)
        yield from map(tuple, pairs[both].tolist())


class Storeys:
    """Names of the storeys that contain elements, each container read once."""

    def __init__(self, source: Source, links: Links) -> None:
        self._file, self._links = source.file, links
        self._names: dict[int, str] = {}

    def of(self, element: int) -> str:
        """Of the element or, first found upwards, of one that it is part of."""
        seen: set[int] = set()
        while element and element not in seen:
            seen.add(element)
            container = self._links.containers.get(element)
            if container is not None:
                return self._name(container)
            element = self._links.parents.get(element, 0)
        return ""

    def _name(self, key: int) -> str:
        if key not in self._names:
            container = self._file.by_id(key)
            self._names[key] = str(container[2] or "") if container.is_a(SPATIAL) else ""
        return self._names[key]
