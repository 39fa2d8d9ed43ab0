"""Rails end to end behind one panel: a gap between them is a movement joint that the panel must not bridge."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.checks.rail_joints import find
from bimcheck.core.tables import Table, Tables

A = np.array


def _tables(first: list[float], second: list[float], role: str = "rail", support: tuple[int, int, int, int] = (0, 1, 2, 2)) -> Tables:
    """A panel 1000 x 600 in the plane y = 0 on four anchors: A1, A2 at z 100 (second at the right), A3, A4 at z 500."""
    x, z = A([900.0, 100.0, 900.0, 100.0]), A([100.0, 100.0, 500.0, 500.0])
    anchors = Table("anchors", 4, {"candidate": np.zeros(4, dtype=int), "slot": A([1, 2, 3, 4]), "x": x, "y": z, "wx": x, "wy": np.zeros(4), "wz": z, "support": A(support)})
    boxes = A([first, second, [0, 20, 480, 1000, 60, 520]], dtype=float)
    text = {k: A([f"{k}{i}" for i in range(3)], dtype=object) for k in ("guid", "model", "ifc_class", "name")}
    obstacles = Table("obstacles", 3, {"box": boxes, "role": A([role, role, "rail"], dtype=object), **text})
    return {"panels": Table("panels", 1, {"element": A([5])}), "candidates": Table("candidates", 1, {"panel": A([0])}), "anchors": anchors, "obstacles": obstacles}


RIGHT, LEFT = [510, 20, 80, 1500, 60, 120], [-500, 20, 80, 498, 60, 120]


def test_a_panel_across_the_joint_of_a_level_rail() -> None:
    (issue,) = find(_tables(RIGHT, LEFT), {})
    assert (issue.rule, issue.severity, issue.panel, issue.measured) == ("rail-joint", "warning", 5, 12.0)  # 510 - 498
    assert "A1 and A2" in issue.text and (issue.x, issue.z) == (500.0, 100.0) and issue.other_guid == "guid1"


@pytest.mark.parametrize(("first", "second", "role", "support"), [
    (RIGHT, [-500, 20, 80, 510, 60, 120], "rail", (0, 1, 2, 2)),  # they touch: one rail in two bodies
    (RIGHT, [-500, 20, 80, 380, 60, 120], "rail", (0, 1, 2, 2)),  # far apart: two rails
    (RIGHT, [-500, 20, 180, 498, 60, 220], "rail", (0, 1, 2, 2)),  # at another height
    (RIGHT, LEFT, "bracket", (0, 1, 2, 2)), (RIGHT, LEFT, "rail", (0, -1, 2, 2)), (RIGHT, LEFT, "rail", (0, 0, 2, 2)),
])
def test_no_joint_no_issue(first: list[float], second: list[float], role: str, support: tuple[int, int, int, int]) -> None:
    assert find(_tables(first, second, role, support), {}) == []


def test_upright_profiles_with_a_joint_between_the_rows() -> None:
    low, high = [880, 20, -400, 920, 60, 295], [880, 20, 305, 920, 60, 900]
    (issue,) = find(_tables(low, high, support=(0, 2, 1, 2)), {})
    assert issue.measured == 10.0 and "A1 and A3" in issue.text


def test_without_rails_nothing_is_known() -> None:
    assert find({"anchors": Table("anchors", 0, {})}, {}) == []
