"""Anchors as mechanical fasteners: placed relative to their panel, aggregated under it, of one type an article."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.write.ifc_articles import Article, articles, cylinder, nominal, write_links, write_types
from bimcheck.write.ifc_block import Block, Holders, Subjects
from bimcheck.write.ifc_model import Placements
from bimcheck.write.step_text import reals, string

AT_ONCE = 8192  # anchors
_DIGITS_MM, _DIGITS_AXIS = 6, 9  # decimals kept: a nanometre, and a direction good to 1e-6 mm over a metre


@dataclass(frozen=True)
class Anchors:
    """Anchors sorted by panel and slot.

    panel: (n,) row of the holders; slot: (n,) number from 1; mouth: (n, 3) world, mm; support: (n,) entity number of
    the rail or bracket that carries it, 0 where none is known.
    """

    panel: NDArray[np.int64]
    slot: NDArray[np.int64]
    mouth: NDArray[np.float64]
    support: NDArray[np.int64]

    def take(self, part: slice) -> Anchors:
        return Anchors(self.panel[part], self.slot[part], self.mouth[part], self.support[part])

    @property
    def names(self) -> list[str]:
        return [f"A{s}" for s in self.slot.tolist()]


def write_fasteners(block: Block, subjects: Subjects, placed: Placements, anchors: Anchors,
                    guids: Mapping[int, str], *, geometry: bool, holes: bool) -> None:
    """placed: of the subjects; guids: GlobalId by entity number of the supports."""
    if not len(anchors.panel):
        return
    rows, inverse = np.unique(anchors.panel, return_inverse=True)
    kinds, of_panel = articles(subjects.columns, rows.tolist())
    kind = np.array(of_panel)[inverse]
    types = write_types(block, kinds, geometry)
    shapes = _Shapes(block, types.maps)
    uses: list[list[str]] = [[] for _ in kinds]
    known: dict[str, str] = {}
    for part in _parts(anchors.panel):
        some, which = anchors.take(part), kind[part].tolist()
        each, spots = [kinds[k] for k in which], _spots(block, subjects.columns, placed, some, known)
        drawn = list(zip(each, block.many(spots), shapes.of(which), strict=True))
        occurrences = _occurrences(block, subjects, some, drawn)
        _aggregate(block, subjects.holders, some, occurrences)
        _connect(block, subjects.holders, some, occurrences, guids)
        if holes and block.facts.body_context:
            _holes(block, subjects.holders, some, list(zip(each, spots, strict=True)))
        for k, reference in zip(which, occurrences, strict=True):
            uses[k].append(reference)
    write_links(block, kinds, types.types, uses)


def _parts(panel: NDArray[np.int64]) -> list[slice]:
    """Anchors by some thousands, those of one panel together: what is written need not be in memory at once."""
    starts = np.append(np.flatnonzero(np.r_[True, np.diff(panel) != 0]), len(panel))
    cuts = np.unique(starts[np.searchsorted(starts, np.arange(0, len(panel), AT_ONCE))])
    return [slice(a, b) for a, b in pairwise(np.union1d(cuts, [len(panel)]).tolist())]


def _spots(block: Block, columns: Mapping[str, Any], placed: Placements, anchors: Anchors, known: dict[str, str]) -> list[str]:
    """Texts of the placements relative to the panels': x to the right and z towards a viewer behind the panel."""
    rows, back = np.unique(anchors.panel, return_inverse=True)
    world = placed.world[rows]
    turn = world[:, :3, :3].transpose(0, 2, 1)  # world to panel
    away = anchors.mouth / block.facts.units.length_mm - world[back, :3, 3]
    local = np.einsum("nij,nj->ni", turn[back], away) * block.facts.units.length_mm
    points = _triples(block, "IFCCARTESIANPOINT", np.round(local, _DIGITS_MM) / block.facts.units.length_mm, known)
    z = _axis(block, turn, -np.asarray(columns["n"], float)[rows], known)
    x = _axis(block, turn, -np.asarray(columns["u"], float)[rows], known)
    spots = block.shared([f"IFCAXIS2PLACEMENT3D({p},{z[i]},{x[i]})" for p, i in zip(points, back.tolist(), strict=True)], known)
    parents = [f"#{n}" if n else "$" for n in placed.number[anchors.panel].tolist()]
    return [f"IFCLOCALPLACEMENT({parent},{spot})" for parent, spot in zip(parents, spots, strict=True)]


def _axis(block: Block, turn: NDArray[np.float64], world: NDArray[np.float64], known: dict[str, str]) -> list[str]:
    return _triples(block, "IFCDIRECTION", np.round(np.einsum("nij,nj->ni", turn, world), _DIGITS_AXIS), known)


def _triples(block: Block, entity: str, values: NDArray[np.float64], known: dict[str, str]) -> list[str]:
    x, y, z = (reals(column) for column in values.T)
    return block.shared([f"{entity}(({a},{b},{c}))" for a, b, c in zip(x, y, z, strict=True)], known)


class _Shapes:
    """The shape of every anchor: one for all of an article, in IFC2X3 one each (a shape there belongs to one product)."""

    def __init__(self, block: Block, maps: Sequence[str]) -> None:
        self._block = block
        self._items = {k: _mapped(block, maps[k]) for k in range(len(maps)) if maps[k]}
        self._head = f"IFCSHAPEREPRESENTATION(#{block.facts.body_context},'Body','MappedRepresentation',("
        self._one = {k: block.one(f"IFCPRODUCTDEFINITIONSHAPE($,$,({block.one(f'{self._head}{item}))')}))")
                     for k, item in self._items.items()} if block.facts.schema != "IFC2X3" else {}

    def of(self, kind: Sequence[int]) -> list[str]:
        if self._block.facts.schema != "IFC2X3":
            return [self._one.get(k, "$") for k in kind]
        bodies = self._block.many([f"{self._head}{self._items[k]}))" for k in kind if k in self._items])
        each = iter(self._block.many([f"IFCPRODUCTDEFINITIONSHAPE($,$,({b}))" for b in bodies]))
        return [next(each) if k in self._items else "$" for k in kind]


def _mapped(block: Block, representation_map: str) -> str:
    origin = block.once("IFCCARTESIANPOINT((0.0,0.0,0.0))")
    target = block.once(f"IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,{origin},$,$)")
    return block.one(f"IFCMAPPEDITEM({representation_map},{target})")


def _occurrences(block: Block, subjects: Subjects, anchors: Anchors, drawn: Sequence[tuple[Article, str, str]]) -> list[str]:
    """drawn: article, placement and shape of each anchor."""
    names = anchors.names
    guids = subjects.holders.slot_ids("anchor", names, anchors.panel.tolist())
    marks = subjects.columns.get("mark", np.full(len(subjects.holders.refs), "", object))[anchors.panel].tolist()
    tags = [string(f"{m}-{a}") if m else "$" for m, a in zip(marks, names, strict=True)]
    ends = ["$,$,$"] * len(names)
    if block.facts.schema == "IFC2X3":  # the sizes moved to the type with IFC4
        sizes = {a: f"{nominal(block, a.hole_diameter)},{nominal(block, a.bolt_length)}" for a in {d[0] for d in drawn}}
        ends = [sizes[a] for a, _, _ in drawn]
    return block.each(len(names), (
        f"IFCMECHANICALFASTENER('{g}',{block.owner},'{a}',$,$,{p},{s},{t},{e})"
        for g, a, (_, p, s), t, e in zip(guids, names, drawn, tags, ends, strict=True)
    ))


def _aggregate(block: Block, holders: Holders, anchors: Anchors, occurrences: Sequence[str]) -> None:
    """A relationship of our own under each panel; one of the author's stays as it is (a panel may have several)."""
    rows, starts = np.unique(anchors.panel, return_index=True)
    ends = [*starts[1:].tolist(), len(occurrences)]
    guids = holders.ids("anchors", "", rows.tolist())
    block.many([
        f"IFCRELAGGREGATES('{g}',{block.owner},$,$,{holders.refs[r]},({','.join(occurrences[a:b])}))"
        for g, r, a, b in zip(guids, rows.tolist(), starts.tolist(), ends, strict=True)
    ])


def _connect(block: Block, holders: Holders, anchors: Anchors, occurrences: Sequence[str], guids: Mapping[int, str]) -> None:
    """Support, panel, and the anchors that realise the connection."""
    pairs: dict[tuple[int, int], list[str]] = {}
    for panel, support, ref in zip(anchors.panel.tolist(), anchors.support.tolist(), occurrences, strict=True):
        if support in guids:
            pairs.setdefault((panel, support), []).append(ref)
    ids = holders.slot_ids("support", [guids[s] for _, s in pairs], [p for p, _ in pairs])
    block.many([
        f"IFCRELCONNECTSWITHREALIZINGELEMENTS('{g}',{block.owner},$,$,$,#{s},{holders.refs[p]},({','.join(refs)}),$)"
        for g, ((p, s), refs) in zip(ids, pairs.items(), strict=True)
    ])


def _holes(block: Block, holders: Holders, anchors: Anchors, drilled: Sequence[tuple[Article, str]]) -> None:
    """Drilled holes as recesses in the panel, each a product of its own.  drilled: article and placement of each anchor."""
    rows = [i for i, (a, _) in enumerate(drilled) if a.hole_diameter > 0 and a.hole_depth > 0]
    names, panels = [anchors.names[i] for i in rows], anchors.panel[rows].tolist()
    solids = {a: cylinder(block, a.hole_diameter / 2, -a.hole_depth, a.hole_depth)
              for a in dict.fromkeys(drilled[i][0] for i in rows)}
    bodies = block.many([f"IFCSHAPEREPRESENTATION(#{block.facts.body_context},'Body','SweptSolid',({solids[drilled[i][0]]}))"
                         for i in rows])
    shapes = block.many([f"IFCPRODUCTDEFINITIONSHAPE($,$,({b}))" for b in bodies])
    places = block.many([drilled[i][1] for i in rows])
    end = "$" if block.facts.schema == "IFC2X3" else "$,.RECESS."
    kind = "'recess'" if block.facts.schema == "IFC2X3" else "$"
    openings = block.many([
        f"IFCOPENINGELEMENT('{g}',{block.owner},'{a}',$,{kind},{p},{s},{end})"
        for g, a, p, s in zip(holders.slot_ids("hole", names, panels), names, places, shapes, strict=True)
    ])
    block.many([
        f"IFCRELVOIDSELEMENT('{g}',{block.owner},'{a}',$,{holders.refs[p]},{o})"
        for g, a, p, o in zip(holders.slot_ids("hole-link", names, panels), names, panels, openings, strict=True)
    ])
