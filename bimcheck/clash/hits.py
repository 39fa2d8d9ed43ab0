"""Bodies and other panels in the zones of anchors, and the least move of the anchor alone that frees it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from bimcheck.clash.bodies import among, panel_bodies, panel_boxes, reaches_behind, reaching, taking_part
from bimcheck.clash.carriers import SUPPORTS
from bimcheck.clash.contacts import Contacts, contacts, extents
from bimcheck.clash.frames import Frames, group_pairs
from bimcheck.clash.places import Floats, Ints
from bimcheck.clash.zones import TOUCH, Zone, largest
from bimcheck.core.tables import Table

WAYS = ("to the right", "up", "to the left", "down")  # seen from outside
FEW = 0.25  # share of the panels below which they are looked at as they are


@dataclass(frozen=True)
class Hits:
    """anchor (k,); body: row of obstacles, or -1; panel: row of elements where the body is another panel, or -1;
    zone (k, zones); move (k,) mm, way (k,) number in WAYS, half (k,) half the zone's size that way."""

    anchor: Ints
    body: Ints
    panel: Ints
    zone: np.ndarray
    move: Floats
    way: Ints
    half: Floats

    def take(self, rows: Any) -> Hits:
        return Hits(*(getattr(self, f.name)[rows] for f in fields(self)))


def zones(settings: Mapping[str, Any]) -> tuple[Zone, Zone, Zone]:
    at = {k.removeprefix("clash."): v for k, v in settings.items() if k.startswith("clash.")}
    r, b = at["drill_radius_mm"], at["bolt_radius_mm"]
    return (Zone("drill", (r, r), at["drill_length_mm"], round=True),
            Zone("clip", (at["clip_width_mm"] / 2, at["clip_height_mm"] / 2), at["clip_depth_mm"]),
            Zone("bolt", (b, b), at["bolt_length_mm"], round=True))


@dataclass(frozen=True)
class Scene:
    """What may stand in the way: obstacles and the rows of them that take part, those of them that are no rails (what
    clips hang on is in nobody's way) and those that carry, elements and their world boxes, zones of an anchor."""

    elements: Table
    obstacles: Table
    rows: Ints
    solid: Ints
    supports: Ints
    boxes: Floats
    zones: Sequence[Zone]


def scene_of(elements: Table, obstacles: Table, settings: Mapping[str, Any]) -> Scene:
    rows = taking_part(obstacles, settings)
    role = obstacles["role"][rows]
    return Scene(elements, obstacles, rows, rows[~among(role, ("rail",))], rows[among(role, SUPPORTS)],
                 panel_boxes(elements, np.arange(elements.n)), zones(settings))


def entering(frames: Frames, scene: Scene, support: Ints) -> tuple[Contacts, tuple[Table, Contacts]]:
    """Contacts with obstacles, without the bracket each anchor hangs on; and with other panels, as bodies beside them."""
    hit = contacts(frames, scene.obstacles, scene.zones, scene.solid)
    others = panel_bodies(scene.elements, panels_behind(frames, scene))
    met = contacts(frames, others, scene.zones)
    return hit.take(support[hit.anchor] != hit.body), (others, met.take(others["panel"][met.body] != frames.owner[met.anchor]))


def hits_of(frames: Frames, scene: Scene, support: Ints) -> Hits:
    """Everything in the zones, by anchor's panel, then what is hit, then the farthest move first."""
    hit, (others, met) = entering(frames, scene, support)
    moves = [least_moves(frames, table, c, scene.zones) for table, c in ((scene.obstacles, hit), (others, met))]
    nothing = np.full(len(met.anchor), -1), np.full(len(hit.anchor), -1)
    whole = Hits(np.r_[hit.anchor, met.anchor], np.r_[hit.body, nothing[0]], np.r_[nothing[1], others["panel"][met.body]],
                 np.concatenate([hit.zone, met.zone]), *(np.concatenate(c) for c in zip(*moves, strict=True)))
    return whole.take(np.lexsort((whole.anchor, -np.nan_to_num(whole.move), whole.body, whole.panel, frames.owner[whole.anchor])))


def panels_behind(frames: Frames, scene: Scene) -> Ints:
    """Rows of elements whose bodies may reach behind another panel, into the depth of the zones."""
    elements, depth = scene.elements, largest(scene.zones)[2]
    many = len(frames.panel) > FEW * elements.n
    rows = reaching(elements, frames, TOUCH, depth) if many else np.arange(elements.n)
    group, other = group_pairs(frames, scene.zones, scene.boxes[rows])
    panel, other = frames.panel[group], rows[other]
    return np.unique(other[reaches_behind(elements, panel, other, TOUCH, depth)])


def least_moves(frames: Frames, solid: Table, hit: Contacts, zone: Sequence[Zone]) -> tuple[Floats, Ints, Floats]:
    """Least move (mm) of each anchor within its panel that frees all its zones for certain, its way, and half the zone's
    size in that way; from the extent of the whole body within the zones' depth."""
    moves = np.zeros((len(hit.anchor), 4))
    halves = np.zeros((len(hit.anchor), 4))
    for k, z in enumerate(zone):
        rows = np.flatnonzero(hit.zone[:, k])
        x0, y0, x1, y1 = extents(frames, solid, (hit.anchor[rows], hit.body[rows]), z.depth).T
        hx, hy = z.half
        need = np.column_stack([x1 + hx, y1 + hy, hx - x0, hy - y0])
        larger = need > moves[rows]
        moves[rows] = np.where(larger, need, moves[rows])
        halves[rows] = np.where(larger, np.array([hx, hy, hx, hy]), halves[rows])
    way = np.argmin(moves, axis=1)
    pick = np.arange(len(way))
    return moves[pick, way], way, halves[pick, way]
