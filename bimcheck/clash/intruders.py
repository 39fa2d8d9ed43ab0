"""Bodies that run into a panel: frames that lap over its edge, posts and pipes that pass through it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from bimcheck.clash.behind import body as body_fields
from bimcheck.clash.bodies import among, panel_boxes, taking_part
from bimcheck.clash.frames import box_pairs, frames_of
from bimcheck.clash.placed import Placed, place
from bimcheck.clash.places import Floats, Ints, kind, world
from bimcheck.clash.zones import TOUCH, sliced
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables


@dataclass(frozen=True)
class Shared:
    """What a body shares with a panel: x0, y0, x1, y1, and from .. to behind the front face, mm."""

    bounds: tuple[float, float, float, float]
    depth: tuple[float, float]

    @property
    def least(self) -> float:
        x0, y0, x1, y1 = self.bounds
        return min(x1 - x0, y1 - y0, self.depth[1] - self.depth[0])


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """panel-clash: one issue a panel and body; bodies that are rows of `elements` are compared in the facade plane."""
    elements, obstacles = tables.get("elements"), tables.get("obstacles")
    if elements is None or obstacles is None or not elements.n or not obstacles.n:
        return []
    rows = taking_part(obstacles, settings)
    rows = rows[among(obstacles["role"][rows], settings["clash.panel_roles"]) & ~among(obstacles["guid"][rows], set(elements["guid"].tolist()))]
    panels = np.flatnonzero((elements["status"] == "panel") & (elements["outline"].lengths > 2))
    found = []
    for panel, body, shared in _shares(elements, obstacles, panels, rows):
        found.append(_issue(elements, obstacles, panel, body, shared, settings["clash.panel_severity"]))
    return found


def _shares(elements: Table, obstacles: Table, panels: Ints, rows: Ints) -> list[tuple[int, int, Shared]]:
    group, near = box_pairs(panel_boxes(elements, panels).T, elements["n"][panels], obstacles["box"][rows])
    frames = frames_of(elements["origin"][panels], elements, panels)
    body = rows[near]
    placed, slot = place(obstacles, frames.axes, frames.axes.of[group], body)
    corner = frames.axes.at[:, group]
    low, high = placed.low[:, slot] - corner, placed.high[:, slot] - corner
    size = np.array([elements[k][panels[group]] for k in ("width", "height", "thickness")])
    enters = ((np.minimum(high, size) - np.maximum(low, 0.0)) > 2 * TOUCH).all(axis=0)
    found = []
    for k in np.flatnonzero(enters).tolist():
        box = np.maximum(low[:, k], 0.0), np.minimum(high[:, k], size[:, k])
        shared = _shared(elements, int(panels[group[k]]), placed, int(slot[k]), corner[:, k], box)
        if shared is not None and shared.least > 2 * TOUCH:
            found.append((int(panels[group[k]]), int(body[k]), shared))
    return sorted(found, key=lambda f: f[:2])


def _shared(elements: Table, panel: int, placed: Placed, slot: int, corner: Floats, box: tuple[Floats, Floats]) -> Shared | None:
    """From the body's silhouette within the panel's thickness: its faces there, and its section halfway."""
    low, high = (b.tolist() for b in box)
    area = _outline(elements["outline"][panel])
    if placed.upright[slot]:
        silhouette = shapely.box(low[0], low[1], high[0], high[1])
    else:
        triangle, _ = placed.triangles(np.array([slot]))
        silhouette = _silhouette(placed.corners(triangle) - corner[:, None], low[2], high[2])
    inside = shapely.intersection(silhouette, area)
    if shapely.area(inside) <= TOUCH:
        return None
    x0, y0, x1, y1 = shapely.bounds(inside).tolist()
    return Shared((x0, y0, x1, y1), (low[2], high[2]))


def _outline(points: Floats) -> shapely.Geometry:
    rings = [points[points[:, 2] == k, :2] for k in np.unique(points[:, 2])]
    return shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))


def _silhouette(corners: Floats, low: float, high: float) -> shapely.Geometry:
    """Union of the triangles (3, 3, m) between two depths, seen along the normal, and of the section halfway."""
    z = corners[:, 2]
    part = corners[:, :, (z.min(axis=0) < high - TOUCH) & (z.max(axis=0) > low + TOUCH)]
    rings = np.moveaxis(sliced(part, low + TOUCH, high - TOUCH), 2, 0)
    faces = [shapely.MultiPoint(ring).convex_hull for ring in rings]
    return shapely.union_all([*faces, _section(corners, (low + high) / 2)])


def _section(corners: Floats, depth: float) -> shapely.Geometry:
    """Area of a closed body in the plane at a depth; what is nested is out, in, out."""
    ends = []
    for i, j in ((0, 1), (1, 2), (2, 0)):
        a, b = corners[i], corners[j]
        with np.errstate(divide="ignore", invalid="ignore"):
            t = np.where((a[2] > depth) != (b[2] > depth), (depth - a[2]) / (b[2] - a[2]), np.nan)
        ends.append((a[:2] + t * (b[:2] - a[:2])).T)
    points = np.stack(ends, axis=1)
    points = points[np.isfinite(points[:, :, 0]).sum(axis=1) == 2]
    if not len(points):
        return shapely.Polygon()
    lines = points[np.isfinite(points[:, :, 0])].reshape(-1, 2, 2)
    return shapely.build_area(shapely.union_all(shapely.set_precision(shapely.linestrings(lines), 1e-4)))


def _issue(elements: Table, obstacles: Table, panel: int, body: int, shared: Shared, severity: str) -> Issue:
    other = body_fields(obstacles, body)
    what = kind(other["other_name"], other["other_class"])
    x0, y0, x1, y1 = shared.bounds
    middle = world(elements, np.array([panel]), np.array([(x0 + x1) / 2]), np.array([(y0 + y1) / 2]), sum(shared.depth) / 2)
    x, y, z = middle[0].tolist()
    deep = shared.least
    return Issue("panel-clash", severity, f"{what} runs into the panel: they share {x1 - x0:.1f} x {y1 - y0:.1f} x {shared.depth[1] - shared.depth[0]:.1f} mm",
                 panel=panel, measured=deep, required=0.0, unit="mm", x=x, y=y, z=z, group=f"{what}, {deep:.0f} mm into the panel",
                 way_out=f"move or cut back one of the two by {deep:.1f} mm, or make a cut-out", **other)
