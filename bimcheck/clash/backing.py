"""Brackets that stand before nothing they could be fixed to: no structure near, or an opening of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.clash.behind import body as body_fields
from bimcheck.clash.bodies import among, taking_part
from bimcheck.clash.frames import Frames, box_pairs, frames_of
from bimcheck.clash.placed import place
from bimcheck.clash.places import Floats, Ints, kind
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables

STRUCTURE = ("wall", "slab")
CLASSES = ("IfcColumn", "IfcBeam", "IfcFooting", "IfcPile")  # structure whose role is that of any member


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """no-backing (off at 0): one issue a bracket, at the panel it stands behind."""
    behind, obstacles, elements = (tables.get(k) for k in ("behind", "obstacles", "elements"))
    limit = float(settings["clash.backing_mm"])
    if behind is None or obstacles is None or elements is None or limit <= 0 or not behind.n:
        return []
    rows = taking_part(obstacles, settings)
    structure = rows[among(obstacles["role"][rows], STRUCTURE) | among(obstacles["ifc_class"][rows], CLASSES)]
    bracket, panel = _brackets(behind, obstacles, elements)
    if not len(structure) or not len(bracket):
        return []
    middle = (obstacles["box"][bracket, :3] + obstacles["box"][bracket, 3:]) / 2
    frames = frames_of(middle, elements, panel)
    backed = _near(frames, obstacles, bracket, structure, limit)
    void = _near(frames, obstacles, bracket, np.flatnonzero(obstacles["role"] == "opening"), limit, at_middle=True)
    alone = np.flatnonzero(~backed | void)
    return [_issue(obstacles, int(bracket[k]), int(panel[k]), middle[k], bool(void[k]), limit, settings["clash.backing_severity"]) for k in alone.tolist()]


def _brackets(behind: Table, obstacles: Table, elements: Table) -> tuple[Ints, Ints]:
    """Brackets and the panel each is nearest behind; by panel."""
    seen = np.flatnonzero((obstacles["role"][behind["obstacle"]] == "bracket") & (elements["status"][behind["panel"]] == "panel"))
    order = seen[np.lexsort((behind["panel"][seen], behind["near"][seen], behind["obstacle"][seen]))]
    bracket, first = np.unique(behind["obstacle"][order], return_index=True)
    panel = behind["panel"][order[first]]
    by = np.argsort(panel, kind="stable")
    return bracket[by], panel[by]


def _near(frames: Frames, obstacles: Table, bracket: Ints, others: Ints, limit: float, at_middle: bool = False) -> np.ndarray:
    """(k,) brackets within `limit` of one of the others, by extents in the panel's axes; or, seen along the normal, whose
    middle lies in one of them."""
    out = np.zeros(len(bracket), dtype=bool)
    box = obstacles["box"]
    grown = box[bracket] + np.r_[-limit, -limit, -limit, limit, limit, limit]
    k, other = box_pairs(grown.T, np.repeat(frames.n, frames.counts, axis=0), box[others])
    if not len(k):
        return out
    of = np.repeat(frames.axes.of, frames.counts)[k]
    own, mine = place(obstacles, frames.axes, of, bracket[k])
    placed, slot = place(obstacles, frames.axes, of, others[other])
    gap = np.maximum(placed.low[:, slot] - own.high[:, mine], own.low[:, mine] - placed.high[:, slot])
    meets = (gap <= limit).all(axis=0)
    if at_middle:
        at = (own.low + own.high)[:, mine] / 2
        meets &= ((placed.low[:, slot] < at) & (placed.high[:, slot] > at))[:2].all(axis=0)
    out[k[meets]] = True
    return out


def _issue(obstacles: Table, bracket: int, panel: int, at: Floats, void: bool, limit: float, severity: str) -> Issue:
    other = body_fields(obstacles, bracket)
    what = kind(other["other_name"], other["other_class"])
    why = "stands before an opening" if void else f"has no wall, slab, column or beam within {limit:g} mm"
    x, y, z = at.tolist()
    return Issue("no-backing", severity, f"{what} {why}: nothing to be fixed to", panel=panel, x=x, y=y, z=z, group=f"{what} {why}",
                 way_out="move the bracket to structure, or let a member span the opening", **other)
