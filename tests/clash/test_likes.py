"""Layouts of like panels as ways out; expectations follow from the three panels laid out here."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.clash import anchors
from bimcheck.core.tables import Ragged, Table
from tests.clash.common import settings
from tests.clash.test_anchor_zones import T
from tests.relate.build import bodies, box

LAYOUTS = ([(200.0, 200.0), (800.0, 200.0)], [(500.0, 200.0), (500.0, 800.0)], [(300.0, 700.0), (700.0, 700.0)])
POST = box([190, T, 0], [300, T + 25, 1600], "member", name="Post 1")  # in the way of the first layout


def way(**changed: Any) -> str:
    """The way out for panel 0 (layout 0) beside panels 1 and 2 (layouts 1, 2), 2000 mm apart."""
    n = 3
    ring = np.array([[0, 0, 0], [1000, 0, 0], [1000, 1600, 0], [0, 1600, 0]], float)
    own = {"origin": np.array([[2000.0 * k, 0, 0] for k in range(n)]), "u": np.tile([1.0, 0, 0], (n, 1)), "v": np.tile([0, 0, 1.0], (n, 1)),
           "n": np.tile([0, -1.0, 0], (n, 1)), "width": np.full(n, 1000.0), "height": np.full(n, 1600.0), "thickness": np.full(n, T),
           "outline": Ragged.of([ring] * n), "status": np.full(n, "panel", dtype=object)}
    text = {k: np.full(n, "a", dtype=object) for k in ("material", "item", "zone", "place")}
    mark = np.array(["P1", "P2", "P3"], dtype=object)
    numbers = {"shape": np.zeros(n, int), "shape_turn": np.zeros(n, int), "t_min": np.full(n, 29.0), "t_max": np.full(n, 31.0), "tilt": np.full(n, 90.0),
               "w_suction": np.array([-1.0, -1.2, -1.1]), "w_pressure": np.ones(n), "w_serv_suction": -np.ones(n), "w_serv_pressure": np.ones(n),
               "candidate": np.arange(n), "u_layout": np.array([0.9, 0.8, 0.7]), "n_anchors_selected": np.full(n, 2), "element": np.arange(n)}
    panels = Table("panels", n, {**own, **text, **numbers, "mark": mark} | {k: np.asarray(v) for k, v in changed.items()})
    at = np.array(LAYOUTS).reshape(-1, 2)
    owner = np.repeat(np.arange(n), 2)
    points = Table("anchors", 6, {"candidate": owner, "slot": np.tile([1, 2], n), "x": at[:, 0], "y": at[:, 1],
                                  "wx": at[:, 0] + 2000 * owner, "wy": np.full(6, T), "wz": at[:, 1]})
    pattern = np.array(["2x1", "1x2", "2x1"], dtype=object)
    candidates = Table("candidates", n, {"panel": np.arange(n), "layout": np.arange(n), "pattern": pattern})
    made = {"elements": Table("elements", n, own), "panels": panels, "candidates": candidates, "anchors": points, "obstacles": bodies(POST)}
    (issue,) = anchors.find(made, settings())
    assert issue.panel == 0
    return issue.way_out


def test_the_least_utilised_layout_that_is_free_is_told() -> None:
    """P3's row stands at 300 mm, whose clip zone (270 to 330) meets the post; P2's column at 500 does not."""
    assert "or the layout of P2 (1x2, 2 anchors;" in way()


@pytest.mark.parametrize("changed", [
    {"u_layout": [0.9, 1.1, 0.7]}, {"u_layout": [0.9, np.nan, 0.7]}, {"w_suction": [-1.0, -0.9, -1.1]}, {"t_min": [29.0, 28.0, 29.0]},
    {"item": np.array(["a", "b", "a"], dtype=object)}, {"shape": [0, 1, 0]}, {"candidate": [0, -1, 2]},
], ids=["fails", "not judged", "less wind", "thinner", "other item", "other shape", "no layout"])
def test_layouts_that_were_not_judged_for_as_much_are_not_told(changed: dict[str, Any]) -> None:
    assert "layout of" not in way(**changed)
