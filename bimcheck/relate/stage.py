"""relate: elements and obstacles in, elements with everything that needs neighbours out."""

from __future__ import annotations

from typing import Any

import numpy as np

from bimcheck.core.tables import Ragged, Table
from bimcheck.relate import envelope, facades, frames, joints, places
from bimcheck.relate.facts import Building, Floats, Ints, Related, SiteFacts
from bimcheck.relate.findings import findings
from bimcheck.relate.ground import find_ground
from bimcheck.relate.settings import Relate

BLANK: dict[str, Any] = {"facade": "", "place": "", "lot": "", "facade_index": -1, "shape": -1, "side_known": False}


def relate(elements: Table, obstacles: Table, site: SiteFacts, settings: Relate) -> Related:
    """Derive sides, facades, places, joints and supports.

    elements: one row an element, with the columns of read.  obstacles: bodies behind or beside.  Rows without a body
    and rows that are not panels get nan, blanks and -1.
    """
    rows = in_skin(elements)
    some = elements.take(rows)
    # Near the model's own middle float64 keeps its digits, whatever the offset of the site.
    shift = np.round(some["raw_origin"].mean(axis=0)) if len(rows) else np.zeros(3)
    some = some.with_columns(raw_origin=some["raw_origin"] - shift)
    near = shifted(obstacles, shift)
    skin = envelope.find(skin_rows(some), near, settings)
    some, low, high = framed(some, skin, near, settings)
    found, _ = neighbours(some, settings)
    some = some.with_columns(**joints.least(found, some.n))
    building = whole(some, near, skin, site, shift)
    some = placed(some, skin, building, shift, low, high)
    some = some.with_columns(place=places.places(some, near, skin, building, settings))
    fac = facade_table(some, skin, building, shift)
    full = scatter(elements, some, rows, shift)
    found = found.with_columns(panel=rows[found["panel"]], other=rows[found["other"]])
    return Related(full, fac, found, Table("behind", 0), Table("shapes", 0), building,
                   findings(full, building, settings))


def in_skin(elements: Table) -> Ints:
    """Rows that are part of the skin and have a body: panels, and what would be panels but for their material."""
    part = np.array([s == "panel" or (s == "out_of_scope" and not str(r).startswith("not-a-panel"))
                     for s, r in zip(elements["status"], elements["reason"], strict=True)], dtype=bool)
    body = (elements["raw_outline"].lengths >= 3) & np.isfinite(elements["thickness"])
    return np.flatnonzero(part & body)


def shifted(obstacles: Table, shift: Floats) -> Table:
    if not obstacles.n:
        return obstacles
    triangles = obstacles["triangles"]
    return obstacles.with_columns(box=obstacles["box"] - np.tile(shift, 2),
                                  triangles=Ragged(triangles.values - np.tile(shift, 3), triangles.offsets))


def skin_rows(some: Table) -> envelope.Rows:
    face = frames.faces(some, np.ones(some.n))
    low = np.column_stack([face.extent(axis)[0] for axis in np.eye(3)])
    high = np.column_stack([face.extent(axis)[1] for axis in np.eye(3)])
    n, t = some["raw_n"], some["thickness"]
    rank = np.empty(some.n, dtype=np.int64)
    rank[np.lexsort((some["step_id"], some["guid"].astype(str)))] = np.arange(some.n)
    outline = some["raw_outline"]
    flat = Ragged(frames.turned(outline.values, outline.offsets), outline.offsets)
    area = np.maximum(frames.net_area(flat), 1.0)
    return envelope.Rows(n, (low + high) / 2 - t[:, None] / 2 * n, area, low[:, 2], high[:, 2], face, rank, t)


def framed(some: Table, skin: envelope.Envelope, obstacles: Table, settings: Relate) -> tuple[Table, Floats, Floats]:
    """Front face, axes and outline; and how far the face reaches along its facade."""
    level = places.is_level(some["raw_n"], settings)
    sign = np.where(level, places.level_side(some, obstacles), skin.sign)
    known = skin.known & (sign != 0)
    sign = np.where(sign == 0, 1.0, sign)
    normal = np.column_stack([skin.ends.normal, np.zeros(len(skin.ends.normal))])
    own = normal[skin.facade] if len(normal) else np.zeros((some.n, 3))
    along = np.cross(frames.UP, np.where(skin.facade[:, None] >= 0, own, [0.0, -1.0, 0.0]))
    face = frames.faces(some, sign)
    n = some["raw_n"] * sign[:, None]
    origin, u, v, outline = frames.frame(face, n, along)
    low, high = face.extent(along)
    z0, z1 = face.extent(frames.UP)
    starts = outline.offsets[:-1]
    width, height = (np.maximum.reduceat(outline.values[:, k], starts) for k in (0, 1))
    centre = origin + u * (width / 2)[:, None] + v * (height / 2)[:, None]
    return some.with_columns(
        side_known=known, origin=origin, u=u, v=v, n=n, outline=outline, width=width, height=height,
        net_area=frames.net_area(outline), normal_x=n[:, 0], normal_y=n[:, 1], normal_z=n[:, 2], z=centre[:, 2],
        z_bottom=z0, z_top=z1, tilt=np.degrees(np.arcsin(np.clip(n[:, 2], -1, 1)))), low, high


def neighbours(some: Table, settings: Relate) -> tuple[Table, joints.Flat]:
    group, lead = joints.groups(some["n"], some["origin"], settings.coplanar_mm)
    flat = joints.lay_out(some["origin"], some["u"], some["v"], some["n"], some["outline"], group, lead)
    reach = joints.Reach(settings.neighbour_reach_mm, settings.neighbour_overlap_mm, settings.coplanar_mm)
    return joints.find_joints(flat, reach), flat


def whole(some: Table, obstacles: Table, skin: envelope.Envelope, site: SiteFacts, shift: Floats) -> Building:
    ground, source = find_ground(site, some["z_bottom"] + shift[2])
    tops = [some["z_top"]] if some.n else []
    if obstacles.n:
        tops.append(obstacles["box"][np.isin(obstacles["role"], ("slab", "wall")), 5])
    highest = np.concatenate(tops).max(initial=-np.inf) + shift[2] if tops else np.nan
    points = np.concatenate(skin.rings) if skin.rings else plan_points(some, obstacles)
    least = facades.least_width(points) if len(points) > 2 else np.nan
    rings = tuple(r + shift[:2] for r in skin.rings)
    return Building(highest - ground, ground, source, rings, skin.ring_source,
                    skin.ring_source != "open" and source != "lowest panel", least)


def plan_points(some: Table, obstacles: Table) -> Floats:
    """What is known of the plan where no ring closes: panels, slabs and walls."""
    points = [some["origin"][:, :2], (some["origin"] + some["u"] * some["width"][:, None])[:, :2]]
    if obstacles.n:
        box = obstacles["box"][np.isin(obstacles["role"], ("slab", "wall"))]
        points += [box[:, [a, b]] for a in (0, 3) for b in (1, 4)]
    return np.concatenate(points)


def placed(some: Table, skin: envelope.Envelope, building: Building, shift: Floats, low: Floats, high: Floats) -> Table:
    left, right, corner = facades.along(skin.facade, low, high, skin.ends)
    over = building.ground - shift[2]
    names = np.append(skin.names, "")
    return some.with_columns(
        facade=names[skin.facade], facade_index=skin.facade, s_left=left, s_right=right, corner_distance=corner,
        z=some["z"] - over, z_bottom=some["z_bottom"] - over, z_top=some["z_top"] - over)


def facade_table(some: Table, skin: envelope.Envelope, building: Building, shift: Floats) -> Table:
    points = np.concatenate(building.rings) - shift[:2] if building.rings else some["origin"][:, :2]
    if len(points) and len(skin.names):
        b, d = facades.extents(points, skin.ends.normal)
    else:
        b = d = np.full(len(skin.names), np.nan)
    return facades.table(skin.names, skin.ends, skin.kind, b, d, np.full(len(skin.names), building.least_plan))


def scatter(elements: Table, some: Table, rows: Ints, shift: Floats) -> Table:
    """Columns of relate over all elements: blank, nan or -1 where there is no body."""
    added: dict[str, Any] = {}
    for name in (k for k in some if k not in elements):
        column = some[name]
        if isinstance(column, Ragged):
            added[name] = _spread(column, rows, elements.n)
            continue
        fill = BLANK.get(name, np.nan)
        full = np.full((elements.n, *column.shape[1:]), fill, dtype=object if fill == "" else type(fill))
        full[rows] = column + shift if name == "origin" else column
        added[name] = full
    return elements.with_columns(**added)


def _spread(column: Ragged, rows: Ints, n: int) -> Ragged:
    lengths = np.zeros(n, dtype=np.int64)
    lengths[rows] = column.lengths
    return Ragged(column.values, np.r_[0, np.cumsum(lengths)].astype(np.int64))
