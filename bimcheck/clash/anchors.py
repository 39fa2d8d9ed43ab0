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
from bimcheck.clash.places import Ints, kind
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
    found = _clash_issues(scene, settings, frames, slot, hits_of(frames, scene, support))
    if among(obstacles["role"][scene.rows], SUPPORTS).any():
        found += _unsupported(tables, settings, frames, slot, np.flatnonzero(support < 0))
    return found


def _clash_issues(scene: Scene, settings: Mapping[str, Any], frames: Frames, slot: Ints, hits: Hits) -> list[Issue]:
    owner = frames.owner[hits.anchor]
    same = (owner[1:] == owner[:-1]) & (hits.body[1:] == hits.body[:-1]) & (hits.panel[1:] == hits.panel[:-1])
    edges = np.flatnonzero(np.r_[True, ~same, True]) if len(owner) else np.zeros(0, dtype=np.int64)
    found = []
    for a, b in pairwise(edges.tolist()):
        named = _named(slot[hits.anchor[a:b]])
        touched = [z.name for z, on in zip(scene.zones, hits.zone[a:b].any(axis=0).tolist(), strict=True) if on]
        x, y, z = frames.mouth[hits.anchor[a]].tolist()
        found.append(_clash(scene, settings, hits, a, f"{_listed(touched)} zone of {named}", panel=int(owner[a]), x=x, y=y, z=z))
    return found


def _named(slots: Ints) -> str:
    return ", ".join(f"A{s}" for s in sorted(slots.tolist()))


def _listed(words: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _clash(scene: Scene, settings: Mapping[str, Any], hits: Hits, k: int, where: str, **place: Any) -> Issue:
    body, panel = int(hits.body[k]), int(hits.panel[k])
    rule, severity = "anchor-clash", settings["clash.anchor_severity"]
    if panel >= 0:
        what, other = "another panel", {"other_panel": panel}
    else:
        other = body_fields(scene.obstacles, body)
        what = kind(other["other_name"], other["other_class"])
        if scene.obstacles["role"][body] == "fastener":
            rule, severity = "fastener-in-zone", settings["clash.fastener_severity"]
    move, way, half = float(hits.move[k]), WAYS[int(hits.way[k])], float(hits.half[k])
    return Issue(rule, severity, f"{what} stands in the {where}", measured=half - move, required=half, unit="mm",
                 group=f"{what}, free after {move:.0f} mm {way}",
                 way_out=f"move the anchor by {move:.1f} mm {way} (seen from outside), or the body", **place, **other)


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
