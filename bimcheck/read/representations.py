"""Which representation holds an element's body, which elements share one, and what stands in it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged
from bimcheck.read.maps import OPERATOR
from bimcheck.read.source import Source

Ints = NDArray[np.int64]
Floats = NDArray[Any]  # of float64
SOLID_TYPES = {"SweptSolid", "AdvancedSweptSolid", "Brep", "AdvancedBrep", "SolidModel", "Tessellation", "SurfaceModel", "Surface3D",
               "Clipping", "CSG", "MappedRepresentation", "GeometricSet", "SectionedSpine"}
NAMES = ("Body", "Facetation", "Body-Fallback", "Body-FallBack", "")
NEVER = len(NAMES)
IDENTIFIER, TYPE, ITEMS = 1, 2, 3  # attributes of IfcShapeRepresentation
_REFERENCES = re.compile(rb"#\d+(?:,#\d+)*")


@dataclass(frozen=True)
class Unique:
    """Bodies that differ.  numbers: (m,) representation; items: its items; index: (n,) body of each element, -1 without one."""

    numbers: Ints
    items: Ragged
    index: Ints


def unique(source: Source, shapes: Ints) -> Unique:
    """shapes: (n,) product definition shape of each element, 0 for none."""
    chosen = body_of(source, shapes)
    numbers, first, back = np.unique(chosen, return_index=True, return_inverse=True)
    items = source.step.values(source.step.rows(numbers[numbers > 0]))
    items = _from(items, ITEMS)
    if len(numbers) and numbers[0] == 0:
        back, numbers, first = back - 1, numbers[1:], first[1:]
    return _in_order(_maps_joined(source, Unique(numbers, items, back)))


def _from(found: Ragged, place: int) -> Ragged:
    """Each row from a place on, without nan."""
    keep = (np.arange(len(found.values)) - found.offsets[found.rows] >= place) & np.isfinite(found.values)
    return Ragged(found.values[keep], np.r_[0, np.cumsum(np.bincount(found.rows[keep], minlength=len(found)))].astype(np.int64))


def body_of(source: Source, shapes: Ints) -> Ints:
    """(n,) the representation that holds each body, 0 where there is none: the first of the best name."""
    step = source.step
    own, back = np.unique(shapes, return_inverse=True)
    rows = step.rows(own)
    listed = _from(step.values(rows[rows >= 0]), 2)
    shape = np.flatnonzero(rows >= 0)[listed.rows]
    rank = _ranks(source, step.rows(listed.values))
    order = np.lexsort((np.arange(len(rank)), rank, shape))
    order = order[rank[order] < NEVER]
    out = np.zeros(len(own), dtype=np.int64)
    at, first = np.unique(shape[order], return_index=True)
    out[at] = listed.values[order[first]]
    return out[back]


def _ranks(source: Source, rows: Ints) -> Ints:
    """(k,) place of each representation's name in NAMES; NEVER for those that hold no body."""
    step = source.step
    own, back = np.unique(rows, return_inverse=True)
    known: dict[bytes, int] = {}
    out = np.full(len(own), NEVER, dtype=np.int64)
    some = np.flatnonzero((own >= 0) & source.is_a(own, "IfcShapeRepresentation"))
    alike = _REFERENCES.sub(b"#", b"\n".join(step.spans(own[some]))).split(b"\n")
    if len(alike) != len(some):  # lines are broken within
        alike = [_REFERENCES.sub(b"#", span) for span in step.spans(own[some])]
    for i, row, key in zip(some.tolist(), own[some].tolist(), alike, strict=True):
        if key not in known:
            known[key] = _rank(source, row)
        out[i] = known[key]
    return out[back]


def _rank(source: Source, row: int) -> int:
    number, written = int(source.step.numbers[row]), source.step.attributes(row)
    if len(written) <= ITEMS or b"#" not in written[ITEMS]:
        return NEVER
    name, kind = source.text(written[IDENTIFIER], number, IDENTIFIER), source.text(written[TYPE], number, TYPE)
    return NAMES.index(name) if name in NAMES and (name or kind in SOLID_TYPES) else NEVER


def _maps_joined(source: Source, found: Unique) -> Unique:
    """Representations of one mapped item each are the same body where source and operator are the same."""
    single = np.flatnonzero(found.items.lengths == 1)
    mapped, ok = source.step.columns(found.items.values[found.items.offsets[single]], "IFCMAPPEDITEM", 2)
    operator, plain = source.step.columns(mapped[:, 1], OPERATOR, 5)
    use = np.flatnonzero(ok & plain)
    if not len(use):
        return found
    key = np.nan_to_num(np.hstack([mapped[use, :1], _stated(source, operator[use])]), nan=1e300)
    _, first, back = np.unique(key, axis=0, return_index=True, return_inverse=True)
    body, rows = np.arange(len(found.numbers)), single[use]
    body[rows] = rows[first[back.ravel()]]
    keep, number = np.unique(body, return_inverse=True)
    return Unique(found.numbers[keep], found.items.take(keep), np.where(found.index >= 0, number[found.index], -1))


def _stated(source: Source, operator: Floats) -> Floats:
    """(k, 13) what operators state: axes 1 and 2, origin, scale, axis 3."""
    kinds = ("IFCDIRECTION", "IFCDIRECTION", "IFCCARTESIANPOINT", "", "IFCDIRECTION")
    return np.hstack([source.step.columns(operator[:, k], kind, 3)[0] if kind else operator[:, k, None] for k, kind in enumerate(kinds)])


def _in_order(found: Unique) -> Unique:
    """Bodies in the order in which elements come to them."""
    some = np.flatnonzero(found.index >= 0)
    body, first = np.unique(found.index[some], return_index=True)
    order = body[np.argsort(first, kind="stable")]
    place = np.zeros(len(found.numbers) + 1, dtype=np.int64)
    place[order] = np.arange(len(order))
    place[-1] = -1
    return Unique(found.numbers[order], found.items.take(order), place[found.index])
