"""Cost of the finders: python -m tests.benchmarks.bench_clash [panels of the tree's share]

20,160 panels of a turned tower, four anchors each (80,640), 20,160 bodies behind: all finders, panels among themselves
(joints) and cut-outs included.  Beside it, in the same run, ifcopenshell's tree over as many bodies and boxes for clip
zones (or over a share of them; the time per panel is then compared).  Building the tree includes meshing, as nobody gets a
tree without it; the figure without is printed too, for our bodies come as triangles from reading.
"""

from __future__ import annotations

import sys
import time
from typing import Any

import numpy as np

from bimcheck.clash import anchors, behind, cutouts, joints
from bimcheck.clash.carriers import anchor_frames
from bimcheck.clash.contacts import contacts
from bimcheck.clash.zones import Zone
from bimcheck.core.tables import Ragged, Table
from bimcheck.relate.facts import SiteFacts
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.clash.boxes_ifc import model_of
from tests.clash.common import settings
from tests.relate.bench import TURN
from tests.relate.build import Made, box

INSET = 60.0
REPEATS = 5
FINDERS = (joints.find, behind.find, cutouts.find, anchors.find)


def parts_of(made: Made) -> Table:
    """A rail behind the joint below every panel: each is in reach of the anchors above and below it."""
    rail = box([0, 0, 0], [1400, 40, 40], "rail")["triangles"].values.reshape(-1, 3)
    found = []
    for r in made.rows:
        at = r["corner"] + r["u"] * 20.0 - np.cross(r["n"], r["u"]) * 24.0 - r["n"] * 55.0
        found.append((at + rail[:, :1] * r["u"] - rail[:, 1:2] * r["n"] + rail[:, 2:] * np.cross(r["n"], r["u"])) @ TURN.T)
    text = np.full(len(found), "", dtype=object)
    return Table("obstacles", len(found), {
        "guid": text, "name": text, "ifc_class": text, "role": np.full(len(found), "rail", dtype=object),
        "box": np.array([np.r_[p.min(axis=0), p.max(axis=0)] for p in found]), "triangles": Ragged.of([p.reshape(-1, 9) for p in found], (9,))})


def tower() -> dict[str, Table]:
    made = Made()
    made.ring([[0, 0], [70000, 0], [70000, 55000], [0, 55000]], list(np.arange(0, 121) * 1750.0))
    parts = parts_of(made)
    got = relate(made.table(move=lambda p: p @ TURN.T), parts, SiteFacts(ground_setting=0.0), Relate())
    e = got.elements
    row = np.repeat(np.arange(e.n), 4)
    x = np.where(np.arange(4 * e.n) % 2 == 0, INSET, e["width"][row] - INSET)
    y = np.where(np.arange(4 * e.n) % 4 < 2, INSET, e["height"][row] - INSET)
    mouth = e["origin"][row] + x[:, None] * e["u"][row] + y[:, None] * e["v"][row] - e["thickness"][row][:, None] * e["n"][row]
    points = Table("anchors", len(row), {"panel": row, "slot": np.arange(len(row)) % 4 + 1, "wx": mouth[:, 0], "wy": mouth[:, 1], "wz": mouth[:, 2]})
    return {"elements": e, "joints": got.joints, "behind": got.behind, "obstacles": parts, "anchors": points}


def ours(tables: dict[str, Table]) -> tuple[dict[str, float], int]:
    """Median processor seconds of each finder, of the question put to the tree alone, and the number of issues."""
    at = settings(reading__behind_panel_mm=60.0)
    seconds: dict[str, list[float]] = {}
    found = 0
    for _ in range(REPEATS):
        found = 0
        for find in FINDERS:
            start = time.process_time()
            found += len(find(tables, at))
            seconds.setdefault(find.__module__.rsplit(".", 1)[1], []).append(time.process_time() - start)
        start = time.process_time()
        hits = clip_hits(tables)
        seconds.setdefault("same question", []).append(time.process_time() - start)
    print(f"ours, clip zones and bodies: {hits} hits")
    return {k: float(np.median(v)) for k, v in seconds.items()}, found


def clip_hits(tables: dict[str, Table]) -> int:
    """What the tree is asked: which clip zones and which bodies share space."""
    return len(contacts(anchor_frames(tables)[1], tables["obstacles"], [Zone("clip", (30.0, 30.0), 60.0)]).anchor)


def tree(tables: dict[str, Table], count: int) -> tuple[float, float, float]:
    """Seconds to mesh, to mesh and build the tree, and to query it, over bodies and clip zones of `count` panels: boxes of
    60 mm about the anchors, boxes of a rail's section; upright, which is easier for the tree than the turned tower."""
    import ifcopenshell.geom  # noqa: PLC0415
    a, o = tables["anchors"], tables["obstacles"]
    mouth = np.column_stack([a[k] for k in ("wx", "wy", "wz")])[: 4 * count]
    zones: list[Any] = [("IfcBuildingElementProxy", (p - 30, p + 30)) for p in mouth]
    half = np.array([40.0, 30.0, 60.0])
    middle = (o["box"][:count, :3] + o["box"][:count, 3:]) / 2
    model, made = model_of([*zones, *(("IfcMember", (p - half, p + half)) for p in middle)])

    def bodies() -> Any:
        return ifcopenshell.geom.iterator(ifcopenshell.geom.settings(), model, num_threads=1, geometry_library="hybrid-manifold-opencascade")

    start = time.process_time()
    each = bodies()
    more = each.initialize()
    while more:
        more = each.next()
    meshed = time.process_time()
    found = ifcopenshell.geom.tree(backend="opencascade.trianglebvh")
    found.add_iterator(bodies())
    built = time.process_time()
    hits = found.clash_collision_many(made[: len(zones)], made[len(zones):], allow_touching=False)
    print(f"tree: {len(zones)} zones, {count} bodies: {len(hits)} hits")
    return meshed - start, built - meshed, time.process_time() - built


def main() -> None:
    tables = tower()
    n = tables["elements"].n
    count = min(n, int(sys.argv[1])) if len(sys.argv) > 1 else n
    seconds, found = ours(tables)
    asked = seconds.pop("same question")
    total = sum(seconds.values())
    print(f"{tables['anchors'].n} anchors, {tables['obstacles'].n} bodies, {n} panels: {found} issues in {total:.2f} s of processor time "
          "(floor 2.0):", {k: round(v, 3) for k, v in seconds.items()})
    meshing, building, query = tree(tables, count)
    print(f"tree of {count} panels' share: {building:.2f} s to build ({meshing:.2f} of them to mesh), {query:.2f} s to query")
    for what, taken in (("built and queried", building + query), ("without meshing", building + query - meshing)):
        ratio = [taken / count * n / s for s in (asked, seconds["anchors"], total)]
        print(f"tree {what}: the same question {ratio[0]:.0f} times as fast, all zones and what carries the anchors {ratio[1]:.0f} "
              f"times (floor 40, goal 75), all finders {ratio[2]:.0f} times")


if __name__ == "__main__":
    main()
