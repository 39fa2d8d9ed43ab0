"""Bodies that stand close behind a panel: those of a distance the user sets, and those that narrow the cavity."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.clash.bodies import left_out
from bimcheck.clash.places import Ints, kind, world
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables

WALLS = ("slab", "wall")  # what bounds the cavity


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """behind-panel (info; off at 0) and cavity-small: one issue a panel and body."""
    behind, obstacles, elements = (tables.get(k) for k in ("behind", "obstacles", "elements"))
    if behind is None or obstacles is None or elements is None or not behind.n:
        return []
    role = obstacles["role"][behind["obstacle"]]
    wall, near = np.isin(role, WALLS), behind["near"]
    panel = (elements["status"][behind["panel"]] == "panel") & ~left_out(obstacles, settings)[behind["obstacle"]]
    limit, cavity = float(settings["reading.behind_panel_mm"]), float(settings["checks.cavity_mm"])
    close = np.flatnonzero(panel & ~wall & ~behind["edge_on"] & (near < limit))
    tight = np.flatnonzero(panel & wall & (near < cavity))
    place = world(elements, behind["panel"], (behind["x0"] + behind["x1"]) / 2, (behind["y0"] + behind["y1"]) / 2,
                  elements["thickness"][behind["panel"]] + near)
    at = (tables, place)
    return (_issues(at, close, "behind-panel", "info", limit, "stands {0:.1f} mm behind the panel")
            + _issues(at, tight, "cavity-small", settings["clash.cavity_severity"], cavity,
                      "leaves a cavity of {0:.1f} mm behind the panel; {1:g} mm are required",
                      "move the wall or the facade by {2:.1f} mm, or state the cavity that is meant ([checks] cavity_mm)"))


def _issues(at: tuple[Tables, Any], rows: Ints, rule: str, severity: str, required: float, text: str, way: str = "") -> list[Issue]:
    tables, place = at
    behind, obstacles = tables["behind"], tables["obstacles"]
    of, again = np.unique(behind["obstacle"][rows], return_inverse=True)
    others = [body(obstacles, o) for o in of.tolist()]
    kinds = [kind(o["other_name"], o["other_class"]) for o in others]
    columns = (behind["panel"][rows], again, behind["near"][rows], *place[rows].T)
    return [Issue(rule, severity, f"{kinds[o]} {text.format(near, required)}", panel=panel, measured=near, required=required, unit="mm",
                  x=x, y=y, z=z, group=f"{kinds[o]}, {near:.0f} mm", way_out=way.format(near, required, required - near), **others[o])
            for panel, o, near, x, y, z in zip(*(c.tolist() for c in columns), strict=True)]


def body(obstacles: Table, row: int) -> dict[str, Any]:
    """The `other_` fields of an issue with a body."""
    return {"other_model": str(obstacles["model"][row]) if "model" in obstacles else "", "other_guid": str(obstacles["guid"][row]),
            "other_class": str(obstacles["ifc_class"][row]), "other_name": str(obstacles["name"][row])}
