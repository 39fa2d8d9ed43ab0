"""Which rail or bracket carries an anchor; write-back links panel and support by it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.clash.anchors import owners
from bimcheck.clash.bodies import taking_part
from bimcheck.clash.contacts import contacts
from bimcheck.clash.frames import Frames
from bimcheck.clash.places import Floats, Ints
from bimcheck.clash.zones import Zone
from bimcheck.core.tables import Tables


def carriers(tables: Tables, settings: Mapping[str, Any]) -> Ints:
    """(anchors,) row of the obstacles table, -1 where nothing is in reach; a rail goes before a bracket, then the nearer.

    tables: `elements`, `panels`, `anchors` (placed) and `obstacles`; settings: those of the section clash.
    """
    anchors, elements, row = tables["anchors"], tables["elements"], owners(tables)
    out = np.full(anchors.n, -1, np.int64)
    bodies = taking_part(tables["obstacles"], settings)
    some = bodies.take(np.flatnonzero(np.isin(bodies["role"], ("rail", "bracket"))))
    if not anchors.n or not some.n:
        return out
    order = np.argsort(row, kind="stable")
    mouth = np.column_stack([anchors[k] for k in ("wx", "wy", "wz")])[order]
    of = row[order]
    reach = Zone("reach", (settings["clash.reach_mm"],) * 2, settings["clash.reach_depth_mm"])
    near = contacts(Frames(mouth, elements["u"][of], elements["v"][of], elements["n"][of], of), some, [reach])
    away = _to_box(mouth[near.anchor], some["box"][near.body])
    first = np.lexsort((near.body, np.round(away, 6), some["role"][near.body] != "rail", near.anchor))
    anchor, start = np.unique(near.anchor[first], return_index=True)
    out[order[anchor]] = some["row"][near.body[first[start]]]
    return out


def _to_box(points: Floats, boxes: Floats) -> Floats:
    """(k,) distance of points to boxes, 0 inside."""
    return np.linalg.norm(np.maximum(np.maximum(boxes[:, :3] - points, points - boxes[:, 3:]), 0.0), axis=1)
