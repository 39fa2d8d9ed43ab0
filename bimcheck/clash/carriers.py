"""Which rail or bracket carries an anchor; write-back links panel and support by it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.clash.bodies import among, taking_part
from bimcheck.clash.contacts import contacts
from bimcheck.clash.frames import Frames, frames_of
from bimcheck.clash.places import Ints
from bimcheck.clash.zones import Zone
from bimcheck.core.tables import Table, Tables, gather

SUPPORTS = ("rail", "bracket")


def carriers(tables: Tables, settings: Mapping[str, Any]) -> Ints:
    """(anchors,) row of the obstacles table, -1 where nothing is in reach; a rail goes before a bracket, then the nearer.

    tables: `elements`, `panels`, `anchors` (placed) and `obstacles`; settings: those of the section clash.
    """
    order, frames = anchor_frames(tables)
    out = np.full(len(order), -1, np.int64)
    rows = taking_part(tables["obstacles"], settings)
    rows = rows[among(tables["obstacles"]["role"][rows], SUPPORTS)]
    out[order] = carrying(frames, tables["obstacles"], rows, settings)
    return out


def carrying(frames: Frames, obstacles: Table, rows: Ints, settings: Mapping[str, Any]) -> Ints:
    """`carriers` of the anchors of `frames`, from the rails and brackets `rows`."""
    out = np.full(len(frames.mouth), -1, np.int64)
    role = obstacles["role"]
    reach = Zone("reach", (settings["clash.reach_mm"],) * 2, settings["clash.reach_depth_mm"])
    near = contacts(frames, obstacles, [reach], rows)
    out[near.anchor] = near.body
    # Where several are in reach the best comes last, so that it stays.
    several = np.flatnonzero(np.bincount(near.anchor, minlength=len(out))[near.anchor] > 1)
    anchor, body, away = near.anchor[several], near.body[several], np.round(near.away[several], 6)
    best = np.lexsort((-body, -away, among(role[body], ("rail",)), anchor))
    out[anchor[best]] = body[best]
    return out


def anchor_frames(tables: Tables) -> tuple[Ints, Frames]:
    """Order of the anchors by their panels, and the frames in that order."""
    anchors, row = tables["anchors"], owners(tables)
    order = np.argsort(row, kind="stable")
    mouth = np.column_stack([anchors[k] for k in ("wx", "wy", "wz")])
    if (order[1:] > order[:-1]).all():
        return order, frames_of(mouth, tables["elements"], row)
    return order, frames_of(mouth[order], tables["elements"], row[order])


def owners(tables: Tables) -> Ints:
    """(anchors,) row of elements of each anchor."""
    panel = np.asarray(gather(tables, "anchors", "panel"), dtype=np.int64)
    panels = tables.get("panels")
    return panels["element"][panel] if panels is not None and "element" in panels else panel
