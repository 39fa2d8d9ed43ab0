"""The rows of the skin: what the envelope needs of them, and their final frames and places along the facade."""

from __future__ import annotations

import numpy as np

from bimcheck.core.tables import Ragged, Table
from bimcheck.relate import facades, frames, places
from bimcheck.relate.envelope import Envelope
from bimcheck.relate.facts import Floats
from bimcheck.relate.settings import Relate
from bimcheck.relate.tiers import Rows


def skin_rows(some: Table) -> Rows:
    """Mid-points, extents and areas from the raw faces; nothing here knows which side is outside."""
    face = frames.faces(some, np.ones(some.n))
    extents = [face.extent(axis) for axis in np.eye(3)]
    low, high = (np.column_stack([e[k] for e in extents]) for k in (0, 1))
    n, t, outline = some["raw_n"], some["thickness"], some["raw_outline"]
    rank = np.empty(some.n, dtype=np.int64)
    rank[np.lexsort((some["step_id"], some["guid"].astype(str)))] = np.arange(some.n)
    area = frames.net_area(Ragged(frames.turned(outline.values, outline.offsets), outline.offsets))
    return Rows(n, (low + high) / 2 - t[:, None] / 2 * n, np.maximum(area, 1.0), low[:, 2], high[:, 2], face, rank, t)


def framed(some: Table, skin: Envelope, obstacles: Table, settings: Relate) -> Table:
    """Front face, axes and outline; heights still in world coordinates."""
    level = places.is_level(some["raw_n"], settings)
    sign = np.where(level, places.level_side(some, obstacles), skin.sign)
    known = skin.known & (sign != 0)
    sign = np.where(sign == 0, 1.0, sign)
    face = frames.faces(some, sign)
    n = some["raw_n"] * sign[:, None]
    origin, u, v, outline = frames.frame(face, n, _level_axis(skin))
    starts = outline.offsets[:-1]
    width, height = (np.maximum.reduceat(outline.values[:, k], starts) for k in (0, 1))
    z0, z1 = face.extent(frames.UP)
    return some.with_columns(
        side_known=known, origin=origin, u=u, v=v, n=n, outline=outline, width=width, height=height,
        net_area=frames.net_area(outline) * _developed(some, width), normal_x=n[:, 0], normal_y=n[:, 1], normal_z=n[:, 2],
        z=(origin + u * (width / 2)[:, None] + v * (height / 2)[:, None])[:, 2], z_bottom=z0, z_top=z1,
        tilt=np.degrees(np.arcsin(np.clip(n[:, 2], -1, 1))))


def _developed(some: Table, width: Floats) -> Floats:
    """Arc over chord of curved faces, taken as arcs over their width with the rise that read states; else 1."""
    ratio = np.ones(some.n)
    rise = some["sagitta"] if "sagitta" in some else np.zeros(some.n)
    rows = np.flatnonzero((some["form"] == "curved") & (rise > 0))
    half, s = width[rows] / 2, rise[rows]
    radius = (half**2 + s**2) / (2 * s)
    angle = np.arctan2(half, radius - s)
    ratio[rows] = radius * angle / half
    return ratio


def _level_axis(skin: Envelope) -> Floats:
    """u of the facade of every row; along x where it has none."""
    u = np.vstack([np.column_stack([skin.ends.u, np.zeros(len(skin.names))]), [1.0, 0.0, 0.0]])
    return u[skin.facade]


def placed(some: Table, skin: Envelope, ground: float) -> Table:
    """Facade, distances to its ends, and heights above ground (`ground` in the coordinates of `some`)."""
    low, high = frames.laid(some["origin"], some["u"], some["v"], some["outline"]).extent(_level_axis(skin))
    left, right, corner = facades.along(skin.facade, low, high, skin.ends)
    return some.with_columns(
        facade=np.append(skin.names, "")[skin.facade], facade_index=skin.facade, s_left=left, s_right=right,
        corner_distance=corner, z=some["z"] - ground, z_bottom=some["z_bottom"] - ground, z_top=some["z_top"] - ground)
