"""The building as wind needs it: height, ground, plan; and the facades table that rests on them."""

from __future__ import annotations

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.relate import facades
from bimcheck.relate.envelope import Envelope
from bimcheck.relate.facts import Building, Floats, SiteFacts

STRUCTURE = ("slab", "wall")


def find_ground(site: SiteFacts, bottoms: Floats) -> tuple[float, str]:
    """World height of the ground and its source; the lowest panel is a guess."""
    stated = ((site.ground_setting, "setting"), (site.terrain, "terrain elevation"),
              (site.ground_storey, "ground storey"), (site.building, "building placement"))
    for value, source in stated:
        if np.isfinite(value):
            return float(value), source
    return (float(bottoms.min()) if len(bottoms) else float("nan")), "lowest panel"


def whole(some: Table, obstacles: Table, skin: Envelope, site: SiteFacts, shift: Floats) -> Building:
    """The building of the rows; `shift` leads from their coordinates to the world's."""
    ground, source = find_ground(site, some["z_bottom"] + shift[2])
    tops = np.concatenate([some["z_top"], structure(obstacles)[:, 5]])
    h = float(tops.max()) + shift[2] - ground if len(tops) else float("nan")
    rings = tuple(r + shift[:2] for r in skin.rings)
    points = plan_points(some, obstacles, skin)
    least = facades.least_width(points) if len(points) > 2 else float("nan")
    return Building(h, ground, source, rings, skin.ring_source, skin.ring_source != "open" and source != "lowest panel", least)


def structure(obstacles: Table) -> Floats:
    """(k, 6) boxes of slabs and walls."""
    return obstacles["box"][np.isin(obstacles["role"], STRUCTURE)] if obstacles.n else np.zeros((0, 6))


def plan_points(some: Table, obstacles: Table, skin: Envelope) -> Floats:
    """(k, 2) corners of the plan; panels, slabs and walls where no ring closes."""
    if skin.rings:
        return np.concatenate(skin.rings)
    box = structure(obstacles)
    return np.concatenate([some["origin"][:, :2], (some["origin"] + some["u"] * some["width"][:, None])[:, :2],
                           *(box[:, [a, b]] for a in (0, 3) for b in (1, 4))])


def facade_table(some: Table, obstacles: Table, skin: Envelope) -> Table:
    """b, d and the least dimension of every facade from the outline around it, else from all that is known of the plan."""
    size = np.full((len(skin.names), 3), np.nan)
    for r in np.unique(skin.around):
        rows = skin.around == r
        points = skin.rings[r] if r >= 0 else plan_points(some, obstacles, skin)
        if len(points) > 2:
            size[rows, 0], size[rows, 1] = facades.extents(points, skin.ends.normal[rows])
            size[rows, 2] = facades.least_width(points)
    return facades.table(skin.names, skin.ends, skin.kind, size)
