"""Cut-outs that leave too little material to the panel's edge."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely

from bimcheck.clash.places import Floats, Ints, world
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """cutout-near-edge (error): one issue a cut-out; a cut-out that is open to the edge is part of the outline."""
    elements = tables.get("elements")
    if elements is None or "outline" not in elements:
        return []
    limit = float(settings["drilling.cutout_edge_mm"])
    row, ring, distance, at = distances(elements)
    near = np.flatnonzero((distance < limit - 1e-6) & (elements["status"][row] == "panel"))
    place = world(elements, row[near], at[near, 0], at[near, 1])
    found = []
    for k, r in enumerate(near.tolist()):
        x, y, z = place[k].tolist()
        d = float(distance[r])
        found.append(Issue("cutout-near-edge", "error", f"a cut-out lies {d:.1f} mm from the panel's edge, {limit:g} mm are required",
                           panel=int(row[r]), key=f"{ring[r]}", measured=d, required=limit, unit="mm", x=x, y=y, z=z,
                           group=f"cut-out {d:.0f} mm from the edge", way_out=f"move the cut-out inwards by {limit - d:.1f} mm"))
    return found


def distances(elements: Table) -> tuple[Ints, Ints, Floats, Floats]:
    """Every cut-out: row, ring number, least distance to the outline (mm), and the place in the panel's frame (k, 2)."""
    values = elements["outline"].values
    rows = elements["outline"].rows
    owners = np.unique(rows[values[:, 2] > 0]) if len(values) else np.zeros(0, dtype=np.int64)
    found: list[tuple[int, int, float, float, float]] = []
    for row in owners.tolist():
        points = elements["outline"][row]
        edge = shapely.LinearRing(points[points[:, 2] == 0, :2])
        for ring in np.unique(points[points[:, 2] > 0, 2]).tolist():
            hole = shapely.LinearRing(points[points[:, 2] == ring, :2])
            line = shapely.shortest_line(hole, edge)
            x, y = shapely.get_coordinates(line).mean(axis=0).tolist()
            found.append((row, int(ring), float(shapely.length(line)), x, y))
    made = np.array(found, dtype=float).reshape(-1, 5)
    return made[:, 0].astype(np.int64), made[:, 1].astype(np.int64), made[:, 2], made[:, 3:]
