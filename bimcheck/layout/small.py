"""Pieces too small for the least number of anchors."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.layout.batch import Index
from bimcheck.layout.classes import Class
from bimcheck.layout.families import family
from bimcheck.layout.patterns import parse
from bimcheck.layout.polygons import triangles
from bimcheck.layout.prove import Run
from bimcheck.layout.settings import Layout

M2 = 1e6


def small_pieces(run: Run, panels: Table) -> tuple[NDArray, NDArray[np.bool_]]:
    """(n,) text reason, blank where a layout is looked for, and (n,) True for those panels."""
    s = run.settings
    room = np.array([_has_room(c, s) for c in run.classes], dtype=bool)
    area = np.asarray(panels["net_area"]) / M2
    reason = np.full(panels.n, "", dtype=object)
    small = area < s.small_area_m2
    no_room = ~room[run.cls] if len(room) else np.zeros(panels.n, dtype=bool)
    reason[no_room] = _no_room(run, panels, np.flatnonzero(no_room))
    reason[small] = [f"small-piece: {a:.3f} m2, below {s.small_area_m2:g} m2, cover it by a project detail" for a in area[small]]
    detail = f"small-piece: covered by project detail {s.small_detail}"
    if s.small_detail:
        reason[small | no_room] = detail
    return reason, ~(small | no_room)


def _has_room(cls: Class, settings: Layout) -> bool:
    if settings.triangles_on_three and cls.site.triangle and len(triangles(cls.site, float(cls.edge.max()))):
        return True
    if "2x2" in settings.patterns and cls.site.rectangle and not len(cls.site.rails) and not len(cls.site.boxes):
        room = (cls.site.size - cls.spacing) / 2 >= cls.edge
        if not room.all():
            return False
    return any(family(cls, parse(p), settings) is not None for p in settings.patterns)


def _no_room(run: Run, panels: Table, rows: Index) -> list[str]:
    """Which length is missing: the least panel that takes two anchors is twice the edge distance and a spacing."""
    of = [run.classes[c] for c in run.cls[rows].tolist()]
    short = np.minimum(panels["width"], panels["height"])[rows].tolist()
    return [f"small-piece: no permitted pattern fits, least side {s:.0f} mm, two anchors need {need:.0f} mm" if s < need else
            "small-piece: no permitted pattern fits between edges, supports and what must be avoided"
            for s, need in zip(short, (2 * float(c.edge.max()) + c.spacing for c in of), strict=True)]
