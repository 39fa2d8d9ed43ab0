"""Anchors and what stands behind them: bodies in the drill, clip and bolt zones, and anchors that nothing carries."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import numpy as np

from bimcheck.clash.behind import body as body_fields
from bimcheck.clash.bodies import among, taking_part
from bimcheck.clash.carriers import SUPPORTS, anchor_frames, carrying
from bimcheck.clash.frames import Frames
from bimcheck.clash.hits import WAYS, Hits, Scene, hits_of, zones
from bimcheck.clash.likes import likes
from bimcheck.clash.places import Ints, kind
from bimcheck.clash.ways import spots_of, ways_out
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Tables


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """anchor-clash and fastener-in-zone: one issue a panel and body; unsupported: one a panel."""
    elements, anchors, obstacles = (tables.get(k) for k in ("elements", "anchors", "obstacles"))
    if elements is None or anchors is None or obstacles is None or not anchors.n or "wx" not in anchors:
        return []
    order, frames = anchor_frames(tables)
    scene = Scene(elements, obstacles, taking_part(obstacles, settings), zones(settings))
    support = anchors["support"][order] if "support" in anchors else carrying(frames, obstacles, scene.rows, settings)
    slot = anchors["slot"][order]
    hits = hits_of(frames, scene, support)
    groups = _groups(frames, hits)
    spots = spots_of(frames, elements, anchors, order, support, settings)
    elsewhere = likes(tables, scene, np.unique(frames.owner[hits.anchor]), settings)
    ways = ways_out(frames, scene, spots, slot, hits, groups, _drilled(tables), elsewhere, settings)
    found = [_clash(scene, settings, frames, slot, hits, group, way) for group, way in zip(groups, ways, strict=True)]
    if among(obstacles["role"][scene.rows], SUPPORTS).any():
        found += _unsupported(tables, settings, frames, slot, np.flatnonzero(support < 0))
    return found


def _groups(frames: Frames, hits: Hits) -> list[tuple[int, int]]:
    """From and to of the hits of one panel with one body."""
    owner = frames.owner[hits.anchor]
    same = (owner[1:] == owner[:-1]) & (hits.body[1:] == hits.body[:-1]) & (hits.panel[1:] == hits.panel[:-1])
    return list(pairwise(np.flatnonzero(np.r_[True, ~same, True]).tolist())) if len(owner) else []


def _drilled(tables: Tables) -> np.ndarray:
    """(elements,) whose anchors are there already."""
    out = np.zeros(tables["elements"].n, dtype=bool)
    panels = tables.get("panels")
    if panels is not None and "kept" in panels and "element" in panels:
        out[panels["element"][panels["kept"]]] = True
    return out


def _named(slots: Ints) -> str:
    return ", ".join(f"A{s}" for s in sorted(slots.tolist()))


def _listed(words: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _clash(scene: Scene, settings: Mapping[str, Any], frames: Frames, slot: Ints, hits: Hits, group: tuple[int, int], way_out: str) -> Issue:
    a, b = group
    body, panel = int(hits.body[a]), int(hits.panel[a])
    rule, severity = "anchor-clash", settings["clash.anchor_severity"]
    if panel >= 0:
        what = "another panel"
        other: dict[str, Any] = {"other_panel": panel}
    else:
        other = body_fields(scene.obstacles, body)
        what = kind(other["other_name"], other["other_class"])
        if scene.obstacles["role"][body] == "fastener":
            rule, severity = "fastener-in-zone", settings["clash.fastener_severity"]
    touched = [z.name for z, on in zip(scene.zones, np.any(hits.zone[a:b], axis=0).tolist(), strict=True) if on]
    move, way, half = float(hits.move[a]), WAYS[int(hits.way[a])], float(hits.half[a])
    x, y, z = frames.mouth[hits.anchor[a]].tolist()
    return Issue(rule, severity, f"{what} stands in the {_listed(touched)} zone of {_named(slot[hits.anchor[a:b]])}",
                 panel=int(frames.owner[hits.anchor[a]]), measured=half - move, required=half, unit="mm", x=x, y=y, z=z,
                 group=f"{what}, free after {move:.0f} mm {way}", way_out=way_out, **other)


def _unsupported(tables: Tables, settings: Mapping[str, Any], frames: Frames, slot: Ints, alone: Ints) -> list[Issue]:
    elements, reach = tables["elements"], float(settings["clash.reach_mm"])
    found = []
    panels, starts = np.unique(frames.owner[alone], return_index=True)
    for panel, mine in zip(panels.tolist(), np.split(alone, starts[1:]), strict=False):
        x, y, z = frames.mouth[mine[0]].tolist()
        found.append(Issue("unsupported", settings["clash.unsupported_severity"], f"no rail or bracket within {reach:g} mm of {_named(slot[mine])}",
                           panel=panel, required=reach, unit="mm", x=x, y=y, z=z,
                           group=f"facade {elements['facade'][panel]}, no support in reach" if "facade" in elements else "no support in reach",
                           way_out="move the row to a rail, add a rail, or let rows follow the rails"))
    return found
