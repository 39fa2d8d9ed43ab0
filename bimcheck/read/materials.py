"""Names of an element's materials, and what they say about fitness for a rear undercut anchor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fnmatch import fnmatchcase
from functools import lru_cache
from typing import Any, NamedTuple

from bimcheck.read import words
from bimcheck.read.links import Links
from bimcheck.read.settings import Recognition


class Names(NamedTuple):
    """main: the material that the element is of; every: all names, in the author's order."""

    main: str = ""
    every: tuple[str, ...] = ()


def names_of(definition: Any, depth: int = 0) -> Names:
    """Of any IfcMaterialSelect: the thickest layer or the first entry is the main one."""
    if definition is None or depth > 4:
        return Names()
    kind = definition.is_a()
    if kind == "IfcMaterial":
        name = str(definition[0] or "").strip()
        return Names(name, (name,) if name else ())
    if kind in _INNER:
        return names_of(definition[_INNER[kind]], depth + 1)
    parts, weight = _parts(definition)
    named = [(n, w) for n, w in ((names_of(p, depth + 1), w) for p, w in zip(parts, weight, strict=True)) if n.main]
    if not named:
        return Names()
    main = max(named, key=lambda pair: pair[1])[0].main  # the first of equals
    return Names(main, tuple(dict.fromkeys(x for n, _ in named for x in n.every)))


_INNER = {"IfcMaterialLayerSetUsage": 0, "IfcMaterialProfileSetUsage": 0, "IfcMaterialProfileSetUsageTapering": 0,
          "IfcMaterialLayer": 0, "IfcMaterialLayerWithOffsets": 0, "IfcMaterialConstituent": 2, "IfcMaterialProfile": 2,
          "IfcMaterialProfileWithOffsets": 2}
_LISTS = {"IfcMaterialLayerSet": 0, "IfcMaterialList": 0, "IfcMaterialConstituentSet": 2, "IfcMaterialProfileSet": 2}


def _parts(definition: Any) -> tuple[Sequence[Any], list[float]]:
    at = _LISTS.get(definition.is_a())
    parts = (definition[at] or ()) if at is not None else ()
    layers = definition.is_a() == "IfcMaterialLayerSet"
    return parts, [float(p[1] or 0.0) if layers else 0.0 for p in parts]


class Materials:
    """Names by element; each definition is read once."""

    def __init__(self, file: Any, links: Links) -> None:
        self._file, self._links = file, links
        self._read: dict[int, Names] = {0: Names()}

    def of(self, element: int) -> Names:
        """Of the element itself, else of its type."""
        known = self._links.materials
        key = known.get(element) or known.get(self._links.types.get(element, 0), 0)
        if key not in self._read:
            self._read[key] = names_of(self._file.by_id(key))
        return self._read[key]


def matches(name: str, globs: Sequence[str]) -> bool:
    """Whether the project maps this material to one of its own (case ignored)."""
    return any(fnmatchcase(name.casefold(), g.casefold()) for g in globs)


def unfit(names: Names, own: Recognition) -> str:
    """"glass", "metal", "honeycomb", "timber" or "": what makes the material unfit for a rear undercut anchor."""
    return _unfit(names, tuple((kind, *getattr(own, kind)) for kind in ("glass", "metal", "timber", "panel", "honeycomb")))


@lru_cache(maxsize=1 << 12)
def _unfit(names: Names, own: tuple[tuple[str, ...], ...]) -> str:
    """own: kinds, each with the project's own words."""
    more = {kind: tuple(listed) for kind, *listed in own}
    if any(words.has(words.plain(n), words.HONEYCOMB + more["honeycomb"]) for n in names.every):
        return "honeycomb"
    text = words.plain(names.main)
    kind = _kind(words.without_looks(text), more)
    return (_kind(text, more) if kind is None else kind) or ""


def _kind(text: str, more: Mapping[str, tuple[str, ...]]) -> str | None:
    """The first word decides: a panel material ("") named first wins over metal, glass or timber behind it, unless it is a
    layer on a sheet of these, or what only adorns a glass."""
    listed = {"glass": words.GLASS + more["glass"], "metal": words.METAL + more["metal"],
              "timber": words.TIMBER + more["timber"], "": words.PANEL + more["panel"]}
    at = {kind: words.first(text, w) for kind, w in listed.items()}
    seen = [(place, kind) for kind, place in at.items() if place >= 0]
    first = min(seen)[1] if seen else None
    if first == "":
        carrier = next((kind for kind in ("glass", "metal", "timber") if at[kind] > 0 and words.carried_by(text, listed[kind])), "")
        return carrier or ("glass" if words.last(text, listed["glass"]) else "")
    return first


def is_panel_material(names: Names, own: Recognition) -> bool:
    return bool(names.main) and words.has(words.plain(names.main), words.PANEL + tuple(own.panel))


@lru_cache(maxsize=1 << 12)
def layer_kind(names: Names) -> str:
    """"insulation", "membrane", "lining" or "": layers of a wall that are no panels, by the main material."""
    text = words.plain(names.main)
    for kind, listed in (("insulation", words.INSULATION), ("membrane", words.MEMBRANE), ("lining", words.LINING)):
        if text and words.has(text, listed):
            return kind
    return ""
