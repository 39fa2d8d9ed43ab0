"""Panels that bridge a movement joint: two anchors of one row or column on two rails end to end with a gap between them.

Common practice, no source: what is fixed on either side of a joint moves with it.  Known only where the model has rails.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables

SAME_LINE = 20.0  # mm: axes of rails nearer than this are one line
GAP = (0.5, 100.0)  # mm between ends: less is one rail in two bodies, more are two rails
Index = NDArray[np.int64]


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """A warning for each panel and pair of rails."""
    anchors, obstacles = tables.get("anchors"), tables.get("obstacles")
    if anchors is None or obstacles is None or "support" not in anchors or not obstacles.n or not anchors.n:
        return []
    found = [pair for across in ("y", "x") for pair in _pairs(anchors, obstacles, across)]
    seen: dict[tuple[int, int, int], Issue] = {}
    for first, second, gap in found:
        a, b = sorted((int(anchors["support"][first]), int(anchors["support"][second])))
        panel = int(tables["candidates"]["panel"][anchors["candidate"][first]])
        seen.setdefault((panel, a, b), _issue(tables, panel, (first, second), b, gap))
    return list(seen.values())


def _pairs(anchors: Table, obstacles: Table, across: str) -> Iterator[tuple[int, int, float]]:
    """Neighbouring anchors of one row (across "y") or column ("x") on two rails of one line, and the gap between these."""
    along = "x" if across == "y" else "y"
    order = np.lexsort((anchors[along], np.round(anchors[across]), anchors["candidate"]))
    a, b = order[:-1], order[1:]
    same = (anchors["candidate"][a] == anchors["candidate"][b]) & (np.round(anchors[across][a]) == np.round(anchors[across][b]))
    s, t = anchors["support"][a], anchors["support"][b]
    rail = np.r_[obstacles["role"] == "rail", False]  # the last for anchors that nothing carries (-1)
    rows = np.flatnonzero(same & (s != t) & rail[s] & rail[t])
    gap, line = _between(obstacles["box"][s[rows]], obstacles["box"][t[rows]], upright=across == "x")
    for k in np.flatnonzero(line & (gap > GAP[0]) & (gap < GAP[1])).tolist():
        yield int(a[rows[k]]), int(b[rows[k]]), float(gap[k])


def _between(a: NDArray[Any], b: NDArray[Any], upright: bool) -> tuple[NDArray[Any], NDArray[Any]]:
    """(k,) distance of boxes (k, 6), and whether both run along one line: upright, or level at one height."""
    apart = np.maximum(np.maximum(b[:, :3] - a[:, 3:], a[:, :3] - b[:, 3:]), 0.0)
    off = np.abs((a[:, :3] + a[:, 3:]) / 2 - (b[:, :3] + b[:, 3:]) / 2)
    size = [box[:, 3:] - box[:, :3] for box in (a, b)]
    tall = np.logical_and.reduce([s[:, 2] > np.hypot(s[:, 0], s[:, 1]) for s in size])
    level = np.logical_and.reduce([s[:, 2] < np.hypot(s[:, 0], s[:, 1]) for s in size])
    one = tall & (np.hypot(off[:, 0], off[:, 1]) < SAME_LINE) if upright else level & (off[:, 2] < SAME_LINE)
    return np.linalg.norm(apart, axis=1), one


def _issue(tables: Tables, panel: int, pair: tuple[int, int], rail: int, gap: float) -> Issue:
    anchors, obstacles = tables["anchors"], tables["obstacles"]
    names = [f"A{anchors['slot'][k]}" for k in sorted(pair, key=lambda k: int(anchors["slot"][k]))]
    x, y, z = (float((anchors[k][pair[0]] + anchors[k][pair[1]]) / 2) for k in ("wx", "wy", "wz"))
    return Issue("rail-joint", "warning", f"{names[0]} and {names[1]} stand on two rails with {gap:.0f} mm between their ends: the panel bridges a movement joint",
                 panel=int(tables["panels"]["element"][panel]), key=str(obstacles["guid"][rail]), other_model=str(obstacles["model"][rail]),
                 other_guid=str(obstacles["guid"][rail]), other_class=str(obstacles["ifc_class"][rail]), other_name=str(obstacles["name"][rail]),
                 measured=gap, unit="mm", x=x, y=y, z=z, way_out="move the rails' joint to a joint between panels, or let all but one side slide")
