"""Cost of the finders: python -m tests.benchmarks.bench_clash [panels of the tree's share]

20,160 panels of a turned tower, four anchors each (80,640), 20,160 bodies behind: all finders, panels among themselves
(joints) and cut-outs included.  Beside it, in the same run, ifcopenshell's tree over a smaller share of the same bodies
and of boxes for the clip zones; its time per element is what is compared (building it grows faster than linearly, so that
the ratio is on the tree's side).
"""

from __future__ import annotations

import sys
import time
from typing import Any

import numpy as np

from bimcheck.clash import anchors, behind, cutouts, joints
from bimcheck.core.tables import Ragged, Table
from bimcheck.relate.facts import SiteFacts
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.clash.boxes_ifc import model_of
from tests.clash.common import settings
from tests.relate.bench import TURN
from tests.relate.build import Made, box

INSET = 60.0
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
    at = settings(reading__behind_panel_mm=60.0)
    seconds: dict[str, list[float]] = {}
    found = 0
    for _ in range(3):
        found = 0
        for find in FINDERS:
            start = time.process_time()
            found += len(find(tables, at))
            seconds.setdefault(find.__module__.rsplit(".", 1)[1], []).append(time.process_time() - start)
    return {k: min(v) for k, v in seconds.items()}, found


def tree(tables: dict[str, Table], count: int) -> float:
    """Seconds to build and query the tree over the bodies and clip zones of `count` panels (upright boxes of their size)."""
    import ifcopenshell.geom  # noqa: PLC0415
    a, o = tables["anchors"], tables["obstacles"]
    mouth = np.column_stack([a[k] for k in ("wx", "wy", "wz")])[: 4 * count]
    zones: list[Any] = [("IfcBuildingElementProxy", (p - 30, p + 30)) for p in mouth]
    half = np.array([40.0, 30.0, 60.0])
    middle = (o["box"][:count, :3] + o["box"][:count, 3:]) / 2
    model, made = model_of([*zones, *(("IfcMember", (p - half, p + half)) for p in middle)])
    start = time.process_time()
    found = ifcopenshell.geom.tree(backend="opencascade.trianglebvh")
    found.add_iterator(ifcopenshell.geom.iterator(ifcopenshell.geom.settings(), model, num_threads=1, geometry_library="hybrid-manifold-opencascade"))
    hits = found.clash_collision_many(made[: len(zones)], made[len(zones):], allow_touching=False)
    print(f"tree: {len(zones)} zones, {count} bodies: {len(hits)} hits")
    return time.process_time() - start


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    tables = tower()
    seconds, found = ours(tables)
    n = tables["elements"].n
    total = sum(seconds.values())
    print(f"{tables['anchors'].n} anchors, {tables['obstacles'].n} bodies, {n} panels: {found} issues in {total:.2f} s of processor time:", {k: round(v, 3) for k, v in seconds.items()})
    taken = tree(tables, count)
    per = taken / count
    print(f"tree {taken:.2f} s for {count} panels, {1e3 * per:.2f} ms each; ours, zones only, {1e3 * seconds['anchors'] / n:.4f} ms each: "
          f"{per * n / seconds['anchors']:.0f} times as fast; all finders {per * n / total:.0f} times")


if __name__ == "__main__":
    main()
