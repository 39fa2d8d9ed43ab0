"""What the author wrote about the considered elements: names, marks, types, materials, storeys, property sets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read import words
from bimcheck.read.links import Links, Storeys
from bimcheck.read.materials import Materials, Names
from bimcheck.read.sets import SURFACE, read_sets
from bimcheck.read.source import Source, references

Ints = NDArray[np.int64]
GUID, NAME, OBJECT_TYPE, PLACEMENT, SHAPE, TAG = 0, 2, 4, 5, 6, 7  # attributes of IfcElement in every schema
NO_PROPERTIES: Mapping[str, str] = {}


@dataclass(frozen=True)
class Listed:
    """Elements as their lines state them: numbers and rows in the text, classes, and for each its attributes undecoded.

    placement, shape: (n,) entity numbers, 0 where there is none.
    """

    source: Source
    rows: Ints
    numbers: Ints
    classes: list[str]
    written: list[list[bytes]]
    placement: Ints
    shape: Ints

    def texts(self, at: int) -> list[str]:
        return self.source.texts([w[at] for w in self.written], self.numbers, at)

    def take(self, index: Ints) -> Listed:
        classes, written = ([values[i] for i in index.tolist()] for values in (self.classes, self.written))
        return Listed(self.source, self.rows[index], self.numbers[index], classes, written, self.placement[index], self.shape[index])


def listed(source: Source, rows: Ints) -> Listed:
    """Elements by their rows in the text."""
    written = [_filled(w) for w in source.attributes(rows)]
    placement, shape = (references([w[at] for w in written]) for at in (PLACEMENT, SHAPE))
    return Listed(source, rows, source.step.numbers[rows], source.classes(rows), written, placement, shape)


def joined(a: Listed, b: Listed) -> Listed:
    """By number; both of one source."""
    rows, numbers, placement, shape = (np.r_[x, y] for x, y in (
        (a.rows, b.rows), (a.numbers, b.numbers), (a.placement, b.placement), (a.shape, b.shape)))
    both = Listed(a.source, rows, numbers, a.classes + b.classes, a.written + b.written, placement, shape)
    return both.take(np.argsort(rows, kind="stable"))


def _filled(written: list[bytes]) -> list[bytes]:
    return written if len(written) > TAG else written + [b"$"] * (TAG + 1 - len(written))


@dataclass(slots=True)
class Attributes:
    """One element as written.  texts: all that names it, plain; twice: names of property sets it has twice."""

    guid: str
    name: str
    mark: str
    ifc_class: str
    predefined: str
    texts: str
    names: Names
    storey: str
    surface: str
    parent_guid: str
    in_curtain_wall: bool
    has_parts: bool
    twice: tuple[str, ...] = ()


def attributes(elements: Listed, links: Links) -> list[Attributes]:
    source = elements.source
    sets, about = read_sets(source, elements.numbers), _About(source, links)
    guids, names, types, tags = (elements.texts(at) for at in (GUID, NAME, OBJECT_TYPE, TAG))
    out = []
    for i, number in enumerate(elements.numbers.tolist()):
        kind, parent, own = links.types.get(number, 0), links.parents.get(number, 0), sets.properties.get(number, NO_PROPERTIES)
        out.append(Attributes(
            guid=guids[i], name=names[i], mark=tags[i] or own.get("Reference", ""), ifc_class=elements.classes[i],
            predefined=about.predefined(elements.classes[i], elements.written[i], kind, types[i]),
            texts=words.words_of(names[i], types[i], about.type_name(kind)), names=about.materials.of(number),
            storey=about.storeys.of(number), surface=_surface(own), parent_guid=about.guid(parent),
            in_curtain_wall=about.in_curtain_wall(parent), has_parts=about.has_parts(number), twice=sets.twice.get(number, ())))
    return out


def _surface(properties: Mapping[str, str]) -> str:
    return next((properties[k] for k in SURFACE if properties.get(k)), "") if properties else ""


class _About:
    """What elements share, each asked for once: types, materials, storeys, parents."""

    def __init__(self, source: Source, links: Links) -> None:
        self._file, self._links = source.file, links
        self._at = {k.name: k.attributes.index("PredefinedType") for k in source.kinds if "PredefinedType" in k.attributes}
        self._types: dict[int, tuple[str, str]] = {0: ("", "")}
        self._guids: dict[int, str] = {0: ""}
        self.materials, self.storeys = Materials(source.file, links), Storeys(source, links)

    def _type(self, number: int) -> tuple[str, str]:
        if number not in self._types:
            kind = self._file.by_id(number)
            self._types[number] = (str(kind[2] or ""), str(getattr(kind, "PredefinedType", None) or ""))
        return self._types[number]

    def type_name(self, number: int) -> str:
        return self._type(number)[0]

    def predefined(self, name: str, written: Sequence[bytes], kind: int, object_type: str) -> str:
        """The predefined type of the occurrence, else of its type."""
        at = self._at.get(name, len(written))
        own = written[at].decode("ascii", "replace").strip(".$*") if at < len(written) else ""
        if own in ("", "NOTDEFINED"):
            own = self._type(kind)[1] or own
        return object_type.upper().replace(" ", "_") if own == "USERDEFINED" else own

    def guid(self, number: int) -> str:
        if number not in self._guids:
            self._guids[number] = str(self._file.by_id(number)[0])
        return self._guids[number]

    def has_parts(self, number: int) -> bool:
        """Parts that are bodies of their own; fasteners and brackets make no assembly of a panel."""
        parts: Sequence[int] = self._links.parts.get(number, ())
        return any(not p.is_a("IfcElementComponent") or p.is_a("IfcBuildingElementPart") for p in map(self._file.by_id, parts))

    def in_curtain_wall(self, number: int) -> bool:
        seen: set[int] = set()
        while number and number not in seen:
            element: Any = self._file.by_id(number)
            if element.is_a("IfcCurtainWall"):
                return True
            seen.add(number)
            number = self._links.parents.get(number, 0)
        return False
