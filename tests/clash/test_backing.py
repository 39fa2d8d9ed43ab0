"""Brackets without structure; a bracket 60 to 150 mm behind the panel of test_anchor_zones (rear face at y = 30)."""

from __future__ import annotations

from typing import Any

import numpy as np

from bimcheck.clash import backing
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table
from tests.clash.common import settings
from tests.clash.test_anchor_zones import panels
from tests.relate.build import bodies, box

BRACKET = box([400, 90, 800], [480, 180, 920], "bracket", name="Bracket 3")


def find(*others: Table, **changed: Any) -> list[Issue]:
    obstacles = bodies(BRACKET, *others)
    behind = Table("behind", 1, {"panel": np.array([0]), "obstacle": np.array([0]), "near": np.array([60.0])})
    return backing.find({"elements": panels(), "obstacles": obstacles, "behind": behind}, settings(**({"clash__backing_mm": 30.0} | changed)))


def test_a_bracket_on_a_wall_or_near_it_is_backed() -> None:
    assert find(box([0, 180, 0], [1000, 380, 3000], "wall")) == []
    assert find(box([0, 205, 0], [1000, 380, 3000], "wall")) == []  # 25 mm of packing


def test_a_bracket_far_from_structure_is_told() -> None:
    (issue,) = find(box([0, 220, 0], [1000, 380, 3000], "wall"))  # 40 mm
    assert (issue.rule, issue.severity, issue.panel) == ("no-backing", "info", 0) and (issue.x, issue.y, issue.z) == (440.0, 135.0, 860.0)
    (issue,) = find(box([0, 180, 960], [1000, 380, 1160], "slab"))  # its edge begins 40 mm above the bracket
    assert "no wall, slab, column or beam within 30 mm" in issue.text


def test_a_bracket_before_an_opening_is_told() -> None:
    wall = box([0, 180, 0], [1000, 380, 3000], "wall")
    (issue,) = find(wall, box([200, 180, 500], [700, 380, 1500], "opening"))
    assert "stands before an opening" in issue.text
    assert find(wall, box([450, 180, 500], [700, 380, 1500], "opening")) == []  # over its edge, the middle beside it


def test_off_by_default_and_where_the_model_has_no_structure() -> None:
    far = box([0, 220, 0], [1000, 380, 3000], "wall")
    assert find(far, clash__backing_mm=0.0) == []
    assert find(box([0, 220, 0], [1000, 380, 3000], "member")) == []
