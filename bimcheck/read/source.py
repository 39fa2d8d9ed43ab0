"""A model to read from: its text as columns, and the lazily opened file for the few entities that are looked at one by one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import ifcopenshell
import numpy as np
from numpy.typing import NDArray

from bimcheck.core import ifcfile, steptext
from bimcheck.core.errors import InputError
from bimcheck.core.steptext import Step
from bimcheck.read.model import Opened

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Kind:
    """An entity type: name as in the schema, itself and its supertypes, attribute names; all empty where no schema has it."""

    name: str = ""
    classes: frozenset[str] = frozenset()
    attributes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Source:
    """file: as opened; step: its entities by rising number."""

    file: Any
    step: Step
    _texts: dict[bytes, str] = field(default_factory=dict, repr=False)

    @cached_property
    def kinds(self) -> list[Kind]:
        """Of each name in `step.names`."""
        schema = ifcopenshell.ifcopenshell_wrapper.schema_by_name(self.file.schema_identifier)
        return [_kind(schema, name) for name in self.step.names]

    def of_class(self, *names: str) -> Ints:
        """Rows of classes and their subclasses."""
        return self.step.of_kinds(i for i, k in enumerate(self.kinds) if not k.classes.isdisjoint(names))

    def is_a(self, rows: Ints, name: str) -> NDArray[np.bool_]:
        """(n,) whether rows are of a class; a row of -1 is of none."""
        known = np.array([*(name in k.classes for k in self.kinds), False])
        return known[np.where(rows >= 0, self.step.kinds[rows], -1)]

    def classes(self, rows: Ints) -> list[str]:
        names = [k.name for k in self.kinds]
        return [names[k] for k in self.step.kinds[rows].tolist()]

    def attributes(self, rows: Ints) -> list[list[bytes]]:
        """The attributes of rows as they are written."""
        counts = [len(k.attributes) for k in self.kinds]
        return [self.step.attributes(row, counts[k]) for row, k in zip(rows.tolist(), self.step.kinds[rows].tolist(), strict=True)]

    def texts(self, literals: Sequence[bytes], numbers: Ints, at: int) -> list[str]:
        """The texts of attribute `at` of entities, "" where it is absent; what is encoded is decoded by the file."""
        every = b"\n".join(literals)
        if every.isascii() and b"\\" not in every and b"''" not in every:
            plain = every.decode("ascii").split("\n")
            if len(plain) == len(literals):
                return [t[1:-1] if t[:1] == "'" else _unquoted(t) for t in plain]
        return [self.text(t, n, at) for t, n in zip(literals, numbers.tolist(), strict=True)]

    def text(self, literal: bytes, number: int, at: int) -> str:
        """One of them; a literal that is encoded is decoded once."""
        if literal[:1] != b"'":
            return _unquoted(literal.decode("ascii", "replace"))
        if b"\\" not in literal and literal.isascii():
            return literal[1:-1].decode("ascii").replace("''", "'")
        if literal not in self._texts:
            self._texts[literal] = str(self.file.by_id(number).get_argument(at) or "")
        return self._texts[literal]


def _unquoted(literal: str) -> str:
    return "" if literal in ("$", "*", "") else literal.strip(".")


def source_of(opened: Opened) -> Source:
    """From the text of the file; where it is laid out oddly, or a host holds the model, from the text that it writes itself."""
    step = steptext.parse(ifcfile.load_bytes(opened.path)) if opened.sha256 else None
    step = step or steptext.parse(opened.file.to_string().encode("utf-8"))
    if step is None:
        raise InputError("cannot be read as STEP text", str(opened.path), "export the model again")
    return Source(opened.file, step)


def _kind(schema: Any, name: str) -> Kind:
    try:
        entity = schema.declaration_by_name(name).as_entity()
    except RuntimeError:
        return Kind()
    if entity is None:
        return Kind()
    attributes, classes, above = tuple(a.name() for a in entity.all_attributes()), [], entity
    while above is not None:
        classes.append(above.name())
        above = above.supertype()
    return Kind(classes[0], frozenset(classes), attributes)


def references(literals: Sequence[bytes]) -> Ints:
    """(n,) entity numbers of references, 0 of anything else."""
    return np.array([int(t[1:]) if t[:1] == b"#" else 0 for t in literals], dtype=np.int64)
