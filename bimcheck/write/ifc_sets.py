"""Property sets from columns: each distinct value is written once, the sets refer to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.write.ifc_block import NONE, Block, Subjects
from bimcheck.write.ifc_properties import ENUMERATIONS, Property
from bimcheck.write.ifc_units import MEASURES
from bimcheck.write.step_text import reals, string

Refs = NDArray[np.object_]  # references of one property for every row, NONE where it has no value


def write_sets(block: Block, subjects: Subjects, wanted: Sequence[Property], names: Mapping[str, str]) -> None:
    """Write the sets of `wanted` for every element that has a value for one of their properties.

    names: house names by `Set` or `Set.Property`.  Where the element has a set of the name which is not ours, theirs
    stays and ours gets the next free name.
    """
    columns = subjects.columns
    for key in dict.fromkeys(p.set for p in wanted):
        refs = [property_refs(block, p, columns[p.column], names.get(f"{key}.{p.name}", p.name))
                for p in wanted if p.set == key and p.column in columns]
        _write_set(block, subjects, key, names.get(key, key), refs)


def _write_set(block: Block, subjects: Subjects, key: str, name: str, refs: Sequence[Refs]) -> None:
    """One set each, `key` its slot, with the relationship that holds it."""
    holders, taken = subjects.holders, subjects.taken.get(key, frozenset())
    lists = [",".join(filter(None, row)) for row in zip(*refs, strict=True)]
    rows = [i for i, text in enumerate(lists) if text]
    ids, links = holders.ids("set", key, rows), holders.ids("set-link", key, rows)
    numbers = block.take(2 * len(rows))
    plain, second, slot, owner = string(name), string(f"{name}_2"), string(key), block.owner
    block.add(
        f"#{n}=IFCPROPERTYSET('{g}',{owner},{second if r in taken else plain},$,({lists[r]}));\n"
        f"#{n + 1}=IFCRELDEFINESBYPROPERTIES('{k}',{owner},{slot},$,({holders.refs[r]}),#{n})"
        for n, g, k, r in zip(numbers[::2], ids, links, rows, strict=True)
    )


def property_refs(block: Block, wanted: Property, values: Any, name: str) -> Refs:
    """Write the distinct values of a column as properties."""
    if wanted.measure in MEASURES or wanted.measure == "IfcReal":
        return _numbers(block, wanted.measure, np.asarray(values, float), name)
    if wanted.measure == "IfcInteger":
        texts = [_integer(v) for v in np.asarray(values).tolist()]
    else:
        texts = [str(v) if v else NONE for v in np.asarray(values, object).tolist()]
    if wanted.measure == "enumerated":
        return _enumerated(block, wanted.name, texts, name)
    literal = str if wanted.measure == "IfcInteger" else string
    head, kind = f"IFCPROPERTYSINGLEVALUE({string(name)},$,", wanted.measure.upper()
    return _shared(block, texts, lambda text: f"{head}{kind}({literal(text)}),$)")


def _integer(value: Any) -> str:
    return str(int(value)) if np.isfinite(value) and value >= 0 else NONE


def _numbers(block: Block, measure: str, inside: NDArray[np.float64], name: str) -> Refs:
    """In the author's unit; where the author has none of that kind, in ours, stated in unit and description."""
    kind, units = MEASURES.get(measure), block.facts.units
    values = inside * units.factor(kind) if kind else inside
    usable = np.isfinite(values) & ((values > 0) if measure.startswith("IfcPositive") else True)
    out = np.full(len(values), NONE, object)
    if not usable.any():
        return out
    note, unit = (string(f"in {kind.own_name}"), block.once(kind.own)) if kind and units.own(kind) else ("$", "$")
    distinct, inverse = np.unique(values[usable], return_inverse=True)
    head = f"IFCPROPERTYSINGLEVALUE({string(name)},{note},{measure.upper()}("
    refs = block.shared([f"{head}{text}),{unit})" for text in reals(distinct)])
    out[usable] = np.array(refs, object)[inverse]
    return out


def _enumerated(block: Block, key: str, texts: Sequence[str], name: str) -> Refs:
    if not any(texts):
        return np.array(texts, object)
    items = ",".join(f"IFCLABEL({string(v)})" for v in ENUMERATIONS[key])
    reference = block.once(f"IFCPROPERTYENUMERATION('Bimcheck_{key}',({items}),$)")
    head = f"IFCPROPERTYENUMERATEDVALUE({string(name)},$,(IFCLABEL("
    return _shared(block, texts, lambda text: f"{head}{string(text)})),{reference})")


def _shared(block: Block, texts: Sequence[str], body: Callable[[str], str]) -> Refs:
    distinct = [text for text in dict.fromkeys(texts) if text != NONE]
    refs = dict(zip(distinct, block.many([body(text) for text in distinct]), strict=True)) | {NONE: NONE}
    return np.array([refs[text] for text in texts], object)
