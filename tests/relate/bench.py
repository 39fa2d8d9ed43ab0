"""Cost of relate: python -m tests.relate.bench  (20,160 panels of a tower, turned in plan, a bracket behind each)."""

from __future__ import annotations

import time

import numpy as np

from bimcheck.core.tables import Ragged, Table
from bimcheck.relate.facts import SiteFacts
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.relate.build import Made, box

ANGLE = np.radians(33.7)
TURN = np.array([[np.cos(ANGLE), -np.sin(ANGLE), 0], [np.sin(ANGLE), np.cos(ANGLE), 0], [0, 0, 1]])


def brackets(made: Made) -> Table:
    rng = np.random.default_rng(0)
    part = box([0, 0, 0], [80, 60, 120], "bracket")["triangles"].values.reshape(-1, 3)
    found = []
    for r in made.rows:
        v = np.cross(r["n"], r["u"])
        at = r["corner"] + r["u"] * rng.uniform(100, 1200) + v * rng.uniform(100, 1500) - r["n"] * (30 + rng.uniform(10, 100))
        found.append((at + part[:, :1] * r["u"] - part[:, 1:2] * r["n"] + part[:, 2:] * v) @ TURN.T)
    text = np.full(len(found), "", dtype=object)
    boxes = np.array([np.r_[p.min(axis=0), p.max(axis=0)] for p in found])
    return Table("obstacles", len(found), {"guid": text, "name": text, "ifc_class": text, "role": np.full(len(found), "bracket", dtype=object),
                                           "box": boxes, "triangles": Ragged.of([p.reshape(-1, 9) for p in found], (9,))})


def main() -> None:
    made = Made()
    made.ring([[0, 0], [70000, 0], [70000, 55000], [0, 55000]], list(np.arange(0, 121) * 1750.0))
    table, parts = made.table(move=lambda p: p @ TURN.T), brackets(made)
    seconds = []
    for _ in range(5):
        start = time.perf_counter()
        got = relate(table, parts, SiteFacts(ground_setting=0.0), Relate())
        seconds.append(time.perf_counter() - start)
    print(f"{table.n} panels, {parts.n} bodies: {np.median(seconds):.2f} s; {got.joints.n} joints, {got.behind.n} behind")


if __name__ == "__main__":
    main()
