"""Bodies behind or beside panels, and the part each plays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table
from bimcheck.read.candidates import NOT_CONSIDERED, Candidate, of_class
from bimcheck.read.lexicon import NAME, plain

# class -> role; "" is decided by name and shape
ROLES = {
    "IfcMember": "", "IfcBeam": "", "IfcColumn": "member", "IfcSlab": "slab", "IfcRoof": "slab", "IfcWall": "wall",
    "IfcFooting": "wall", "IfcStair": "ignored", "IfcStairFlight": "ignored", "IfcRamp": "ignored", "IfcRampFlight": "ignored",
    "IfcRailing": "ignored", "IfcWindow": "opening", "IfcDoor": "opening", "IfcDiscreteAccessory": "bracket",
    "IfcFastener": "fastener", "IfcMechanicalFastener": "fastener", "IfcReinforcingElement": "ignored",
    "IfcDistributionElement": "service", "IfcShadingDevice": "member",
}
_BY_REASON = {"fastener": "fastener", "accessory": "bracket", "bracket": "bracket", "rail": "rail", "mullion": "frame",
              "stud": "member", "member": "", "beam": "", "column": "member", "slab": "slab", "roof": "slab", "wall": "wall",
              "window": "opening", "door": "opening", "service": "service", "structure": "wall", "flashing": "member",
              "equipment": "service", "steel connection plate": "member", "strip or profile": "", "not a plate-like body": "member",
              "thicker than a panel": "wall", "undivided curtain wall": "ignored", "shading device": "member"}
_NAMED = ("fastener", "bracket", "rail")
RAIL_SECTION, RAIL_SLENDER = 160.0, 6.0  # mm, and length over the larger side of the section
BRACKET_LENGTH = 400.0  # mm


def obstacle_elements(file: Any, considered: Mapping[int, Any]) -> list[Any]:
    """Elements that are not considered for panels but may stand behind them, with a body."""
    found: dict[int, Any] = {}
    for cls in ROLES:
        for e in of_class(file, cls):
            key = e.id()
            if key not in considered and e[6] is not None and not any(e.is_a(c) for c in NOT_CONSIDERED):
                found.setdefault(key, e)
    return [found[k] for k in sorted(found)]


def class_role(entity: Any) -> str:
    return next((role for cls, role in ROLES.items() if entity.is_a(cls)), "ignored")


def roles(candidates: Sequence[Candidate], reasons: Sequence[str], box: NDArray[np.float64]) -> NDArray[Any]:
    """(n,) role of each body.  reasons: why a considered element is no panel, '' for others.  box: (n, 6) world, mm."""
    shape = _by_shape(box)
    return np.array([_role(c, r, s) for c, r, s in zip(candidates, reasons, shape, strict=True)], dtype=object)


def _role(c: Candidate, reason: str, shape: str) -> str:
    if reason.startswith("material:"):
        return "ignored"  # a neighbour in the skin: its joints count, it does not stand behind
    stated = _BY_REASON.get(reason.removeprefix("not-a-panel:"), "ignored") if reason else class_role(c.entity)
    if c.predefined == "MULLION":
        return "frame"
    return stated or _by_name(c) or shape


def _by_name(c: Candidate) -> str:
    text = plain(f"{c.name} | {c.type_name} | {c.object_type}")
    for kind in _NAMED:
        if NAME[kind].search(text):
            return kind
    return "frame" if NAME["mullion"].search(text) or c.above == "IfcCurtainWall" else ""


def _by_shape(box: NDArray[np.float64]) -> NDArray[Any]:
    """Slender level bodies of a small section are rails, short ones brackets, the rest members.

    Judged by the world box: a rail turned in plan fills a larger one, so the section counts by its height there.
    """
    size = box[:, 3:] - box[:, :3]
    run, rise = np.hypot(size[:, 0], size[:, 1]), size[:, 2]
    level = (rise <= RAIL_SECTION) & (run >= RAIL_SLENDER * rise)
    short = np.maximum(run, rise) <= BRACKET_LENGTH
    return np.select([short, level], [np.array("bracket", dtype=object), np.array("rail", dtype=object)], default="member").astype(object)


def obstacle_table(model: str, candidates: Sequence[Candidate], reasons: Sequence[str], ids: Sequence[int], triangles: Ragged,
                   box: NDArray[np.float64]) -> Table:
    """Rows in the order of `ids`, the elements of which meshes were found."""
    by_id = {c.step_id: (c, r) for c, r in zip(candidates, reasons, strict=True)}
    rows = [by_id[int(i)] for i in ids]
    found = [c for c, _ in rows]

    def text(values: Sequence[str]) -> NDArray[Any]:
        return np.array(values, dtype=object)

    return Table("obstacles", len(rows), {
        "guid": text([c.guid for c in found]), "step_id": np.array([c.step_id for c in found], dtype=np.int64),
        "name": text([c.name for c in found]), "model": text([model] * len(rows)), "ifc_class": text([c.cls for c in found]),
        "material_name": text([c.material for c in found]), "role": roles(found, [r for _, r in rows], box),
        "box": np.asarray(box, dtype=float).reshape(-1, 6), "triangles": triangles,
    })
