"""Failing checks as issues, and bodies behind.  Expected values are what the tables of the tests hold."""

from __future__ import annotations

from typing import Any

import numpy as np

from bimcheck.checks import anchors as anchor_checks
from bimcheck.checks import drilling
from bimcheck.clash import behind, checks
from bimcheck.core.rule import rules_of
from bimcheck.core.tables import Table
from tests.clash.common import settings
from tests.clash.test_anchor_zones import panels

RULES = tuple(r for module in (anchor_checks, drilling) for r in rules_of(module) if r.check)


def tables(**anchors: Any) -> dict[str, Table]:
    n = len(next(iter(anchors.values())))
    row = np.zeros(n, dtype=np.int64)
    elements = panels()
    return {"elements": elements, "panels": Table("panels", 1, {"element": np.array([0]), "way_out": np.array(["smaller"], dtype=object)}),
            "candidates": Table("candidates", 1, {"panel": np.array([0])}),
            "anchors": Table("anchors", n, {"candidate": row, "slot": np.arange(n) + 1, "wx": np.arange(n) * 1.0, "wy": row * 1.0, "wz": row * 1.0,
                                            **{k: np.asarray(v, float) for k, v in anchors.items()}})}


def test_worst_anchor_speaks_for_the_panel_and_least_values_are_measured_by_what_is_there() -> None:
    made = tables(edge=[60.0, 40.0, 45.0], edge_required=[50.0, 50.0, 50.0], u_edge=[50 / 60, 50 / 40, 50 / 45])
    (issue,) = checks.find(made, {"checks": RULES})
    assert (issue.rule, issue.severity, issue.panel, issue.unit, issue.x, issue.way_out) == ("edge-distance", "error", 0, "mm", 1.0, "smaller")
    assert (issue.measured, issue.required) == (40.0, 50.0) and "A2 and 1 more" in issue.text


def test_interactions_are_measured_by_their_utilisation() -> None:
    made = tables(N_Ed=[900.0], N_Rd=[1000.0], u_interaction=[1.2], u_tension=[0.9])
    (issue,) = checks.find(made, {"checks": RULES})
    assert (issue.rule, issue.measured, issue.required, issue.unit) == ("together", 1.2, 1.0, "")


def test_limits_and_unknowns_are_no_issue_and_no_room_is() -> None:
    assert checks.find(tables(u_tension=[1.0, np.nan, 1.0 + 1e-12]), {"checks": RULES}) == []
    (issue,) = checks.find(tables(u_edge=[np.inf], edge=[0.0], edge_required=[50.0]), {"checks": RULES})
    assert (issue.measured, issue.required) == (0.0, 50.0) and "cannot hold" in issue.text
    assert checks.find({}, {"checks": RULES}) == []


def test_behind_and_cavity() -> None:
    text = np.array(["B 1", "W 2", "F 3"], dtype=object)
    obstacles = Table("obstacles", 3, {"guid": text, "name": text, "ifc_class": text, "model": text, "role": np.array(["bracket", "wall", "frame"], dtype=object)})
    rows = Table("behind", 3, {"panel": np.zeros(3, int), "obstacle": np.arange(3), "near": np.array([28.0, 12.0, 5.0]), "far": np.full(3, 90.0),
                               "edge_on": np.array([False, False, True]), **{k: np.full(3, v) for k, v in (("x0", 0.0), ("x1", 20.0), ("y0", 0.0), ("y1", 40.0))}})
    made = {"elements": panels(), "obstacles": obstacles, "behind": rows}
    assert behind.find(made, settings(clash__ignored_names=["w 2"])) == []
    off = behind.find(made, settings())
    assert off[0].way_out.startswith("move the wall or the facade by 8.0 mm")
    assert [(i.rule, i.severity, i.measured, i.required) for i in off] == [("cavity-small", "warning", 12.0, 20.0)]
    on = behind.find(made, settings(reading__behind_panel_mm=60.0))
    assert [(i.rule, i.severity, i.measured, i.other_guid) for i in on if i.rule == "behind-panel"] == [("behind-panel", "info", 28.0, "B 1")]
    # Panel frame: 10 mm right, 20 mm up of the corner, 28 mm behind the rear face at y = 30.
    assert (on[0].x, on[0].y, on[0].z) == (10.0, 58.0, 20.0)
