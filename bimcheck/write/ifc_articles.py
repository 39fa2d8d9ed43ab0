"""Articles: one fastener type for each anchor with its bolt, with a shape of our own (a shank and an undercut head)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.write.guids import derive, space, suffix
from bimcheck.write.ifc_block import Block
from bimcheck.write.ifc_units import LENGTH
from bimcheck.write.step_text import point, real, string

HEAD = 1 / 3  # height of the drawn head over the embedment: our own simple shape, no article's
_COLUMNS = ("item", "hole_diameter", "undercut_radius", "embedment", "bolt_length", "bolt_diameter", "hole_depth")
ANCHOR_SET = {"IFC2X3": "Bimcheck_Anchor"}  # Pset_MechanicalFastenerAnchorBolt came with IFC4


@dataclass(frozen=True)
class Article:
    """Lengths in mm, 0 where unknown."""

    item: str
    hole_diameter: float
    undercut_radius: float
    embedment: float
    bolt_length: float
    bolt_diameter: float
    hole_depth: float

    @property
    def name(self) -> str:
        parts = (("hole", self.hole_diameter), ("embedment", self.embedment), ("bolt", self.bolt_length))
        sizes = ", ".join(f"{what} {size:g} mm" for what, size in parts if size > 0)
        return f"{self.item or 'undercut anchor'}{': ' if sizes else ''}{sizes}"

    @property
    def protrusion(self) -> float:
        """How far the bolt stands out of the rear face."""
        return max(self.bolt_length - self.embedment, 0.0)


def articles(columns: Mapping[str, Any], rows: Sequence[int]) -> tuple[list[Article], list[int]]:
    """The distinct articles of the given panels, in order of name, and the article of each panel."""
    each = list(zip(*(_picked(columns, name, rows) for name in _COLUMNS), strict=True))
    distinct = {row: Article(*row) for row in dict.fromkeys(each)}
    ordered = sorted(distinct, key=lambda row: (distinct[row].name, row))
    index = {row: i for i, row in enumerate(ordered)}
    return [distinct[row] for row in ordered], [index[row] for row in each]


def _picked(columns: Mapping[str, Any], name: str, rows: Sequence[int]) -> list[Any]:
    if name == "item":
        return [str(v or "") for v in np.asarray(columns[name], object)[rows]] if name in columns else [""] * len(rows)
    if name not in columns:
        return [0.0] * len(rows)
    return np.nan_to_num(np.maximum(np.asarray(columns[name], float)[rows], 0.0), posinf=0.0).tolist()


def slots(all_articles: Sequence[Article]) -> list[str]:
    """The names, made distinct where two articles differ only in what the name leaves out."""
    seen: dict[str, int] = {}
    out = []
    for article in all_articles:
        seen[article.name] = seen.get(article.name, 0) + 1
        out.append(article.name if seen[article.name] == 1 else f"{article.name} ({seen[article.name]})")
    return out


@dataclass(frozen=True)
class Types:
    """References of the types and of their representation maps ("" where there is no geometry)."""

    types: list[str]
    maps: list[str]


def write_types(block: Block, all_articles: Sequence[Article], geometry: bool) -> Types:
    names = slots(all_articles)
    base = [space(block.facts.project_guid)] * len(names)
    guids = derive(base, [suffix("article", n) for n in names])
    sets = derive(base, [suffix("article-set", n) for n in names])
    drawn = geometry and block.facts.body_context
    maps = [_map(block, a) if drawn and _drawable(a) else "" for a in all_articles]
    bolts = [_bolt_set(block, g, a) for g, a in zip(sets, all_articles, strict=True)]
    types = [_type(block, *row) for row in zip(guids, names, all_articles, bolts, maps, strict=True)]
    return Types(types, maps)


def write_links(block: Block, all_articles: Sequence[Article], types: Sequence[str],
                occurrences: Sequence[Sequence[str]]) -> None:
    """Which occurrences are of which type."""
    names = slots(all_articles)
    guids = derive([space(block.facts.project_guid)] * len(names), [suffix("article-link", n) for n in names])
    block.many([
        f"IFCRELDEFINESBYTYPE('{g}',{block.owner},{string(n)},$,({','.join(refs)}),{t})"
        for g, n, t, refs in zip(guids, names, types, occurrences, strict=True) if refs
    ])


def _drawable(article: Article) -> bool:
    return all(v > 0 for v in (article.hole_diameter, article.undercut_radius, article.embedment))


def _type(block: Block, guid: str, name: str, article: Article, *uses: str) -> str:
    """uses: references of the property set and of the representation map, "" where there is none."""
    sets, shape = uses
    head = (f"IFCMECHANICALFASTENERTYPE('{guid}',{block.owner},{string(name)},$,$,{f'({sets})' if sets else '$'},"
            f"{f'({shape})' if shape else '$'},$,{string(article.item) if article.item else '$'}")
    if block.facts.schema == "IFC2X3":
        return block.one(head + ")")
    return block.one(f"{head},.ANCHORBOLT.,{nominal(block, article.hole_diameter)},{nominal(block, article.bolt_length)})")


def nominal(block: Block, size: float) -> str:
    """A positive length attribute, or none."""
    return real(size * block.facts.units.factor(LENGTH)) if size > 0 else "$"


def _bolt_set(block: Block, guid: str, article: Article) -> str:
    values = {"AnchorBoltLength": article.bolt_length, "AnchorBoltDiameter": article.bolt_diameter,
              "AnchorBoltProtrusionLength": article.protrusion}
    texts = {name: text for name, size in values.items() if (text := nominal(block, size)) != "$"}
    if not texts:
        return ""
    unit = block.once(LENGTH.own) if block.facts.units.own(LENGTH) else "$"
    refs = [block.once(f"IFCPROPERTYSINGLEVALUE('{n}',$,IFCPOSITIVELENGTHMEASURE({t}),{unit})") for n, t in texts.items()]
    name = ANCHOR_SET.get(block.facts.schema, "Pset_MechanicalFastenerAnchorBolt")
    return block.one(f"IFCPROPERTYSET('{guid}',{block.owner},'{name}',$,({','.join(refs)}))")


def _map(block: Block, article: Article) -> str:
    """Origin at the hole's mouth on the rear face, z out of the panel's back."""
    head = article.embedment * HEAD
    solids = [cylinder(block, article.undercut_radius, -article.embedment, head),
              cylinder(block, article.hole_diameter / 2, head - article.embedment,
                       article.embedment - head + (article.protrusion if article.protrusion > 0 else 0.0))]
    shape = block.one(f"IFCSHAPEREPRESENTATION(#{block.facts.body_context},'Body','SweptSolid',({','.join(solids)}))")
    return block.one(f"IFCREPRESENTATIONMAP({axes(block, 0.0)},{shape})")


def cylinder(block: Block, radius: float, start: float, length: float) -> str:
    """Along z from `start`; mm."""
    scale = block.facts.units.factor(LENGTH)
    flat = block.once(f"IFCAXIS2PLACEMENT2D({block.once('IFCCARTESIANPOINT((0.,0.))')},$)")
    circle = block.once(f"IFCCIRCLEPROFILEDEF(.AREA.,$,{flat},{real(radius * scale)})")
    up = block.once("IFCDIRECTION((0.,0.,1.))")
    return block.one(f"IFCEXTRUDEDAREASOLID({circle},{axes(block, start * scale)},{up},{real(length * scale)})")


def axes(block: Block, height: float) -> str:
    """An upright placement on the z axis."""
    return block.once(f"IFCAXIS2PLACEMENT3D({block.once(f'IFCCARTESIANPOINT({point((0.0, 0.0, height))})')},$,$)")
