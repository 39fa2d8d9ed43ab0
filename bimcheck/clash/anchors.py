"""Anchors and what stands behind them: bodies in the drill, clip and bolt zones, and anchors that nothing carries."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import numpy as np

from bimcheck.clash.behind import body as body_fields
from bimcheck.clash.carriers import anchor_frames, carrying
from bimcheck.clash.contacts import contacts
from bimcheck.clash.frames import Frames, frames_of
from bimcheck.clash.hits import WAYS, Hits, Scene, hits_of, scene_of
from bimcheck.clash.likes import likes
from bimcheck.clash.moves import Spots
from bimcheck.clash.places import Floats, Ints, kind
from bimcheck.clash.ways import spots_of, ways_out, ways_to_rails
from bimcheck.clash.zones import Zone
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Tables

FAR = 1000.0  # mm within which the nearest support is told


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """anchor-clash and fastener-in-zone: one issue a panel and body; unsupported: one a panel."""
    elements, anchors, obstacles = (tables.get(k) for k in ("elements", "anchors", "obstacles"))
    if elements is None or anchors is None or obstacles is None or not anchors.n or "wx" not in anchors:
        return []
    order, frames = anchor_frames(tables)
    scene = scene_of(elements, obstacles, settings)
    support = anchors["support"][order] if "support" in anchors else carrying(frames, obstacles, scene.supports, settings)
    slot = anchors["slot"][order]
    hits = hits_of(frames, scene, support)
    groups = _groups(frames, hits)
    spots = spots_of(frames, elements, anchors, order, support, settings)
    elsewhere = likes(tables, scene, np.unique(frames.owner[hits.anchor]), settings)
    ways = ways_out(frames, scene, spots, slot, hits, groups, _drilled(tables), elsewhere, settings)
    found = [_clash(scene, settings, frames, slot, hits, group, way) for group, way in zip(groups, ways, strict=True)]
    return found + (_unsupported(scene, settings, frames, spots, slot) if len(scene.supports) else [])


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


def _unsupported(scene: Scene, settings: Mapping[str, Any], frames: Frames, spots: Spots, slot: Ints) -> list[Issue]:
    alone = np.flatnonzero(spots.support < 0)
    panels, starts = np.unique(frames.owner[alone], return_index=True)
    parts = np.split(alone, starts[1:]) if len(alone) else []
    beside = _nearest(scene, frames, alone, settings)
    elements, reach = scene.elements, float(settings["clash.reach_mm"])
    facade = elements["facade"][panels].tolist() if "facade" in elements else [""] * len(panels)
    found = []
    for panel, mine, where, way in zip(panels.tolist(), parts, facade, ways_to_rails(frames, scene, spots, slot, parts, settings), strict=True):
        far = np.where(np.isnan(beside[mine]), np.inf, beside[mine])
        worst = int(mine[np.argmax(far)])
        x, y, z = frames.mouth[worst].tolist()
        nearest = f"the nearest is {beside[worst]:.0f} mm away" if np.isfinite(beside[worst]) else f"nor within {FAR:g} mm"
        found.append(Issue("unsupported", settings["clash.unsupported_severity"], f"no rail or bracket within {reach:g} mm of {_named(slot[mine])}; {nearest}",
                           panel=panel, measured=float(beside[worst]), required=reach, unit="mm", x=x, y=y, z=z,
                           group=f"facade {where}, no support in reach" if where else "no support in reach", way_out=way))
    return found


def _nearest(scene: Scene, frames: Frames, alone: Ints, settings: Mapping[str, Any]) -> Floats:
    """(anchors,) mm in the plane from the axes of those alone to the nearest rail or bracket; nan: none within FAR."""
    out = np.full(len(frames.mouth), np.nan)
    some = frames_of(frames.mouth[alone], scene.elements, frames.owner[alone])
    near = contacts(some, scene.obstacles, [Zone("far", (FAR, FAR), settings["clash.reach_depth_mm"])], scene.supports)
    least = np.full(len(alone), np.inf)
    np.minimum.at(least, near.anchor, near.beside)
    out[alone] = np.where(np.isfinite(least), least, np.nan)
    return out
