"""Issues of the plate: both sides of each limit, and that nothing is said where nothing is known."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.checks.findings import find
from bimcheck.checks.plate import corner_bound, large_deflection
from bimcheck.core.tables import Table, Tables

A = np.array


def _tables(**of_candidate: object) -> Tables:
    """One panel 1000 x 600 x 20 (least 18) at the origin of its facade, element row 7, with one candidate."""
    panels = Table("panels", 1, {"element": A([7]), "origin": A([[100.0, 0.0, 2000.0]]), "u": A([[1.0, 0, 0]]), "v": A([[0, 0, 1.0]]),
                                 "width": A([1000.0]), "height": A([600.0]), "t_min": A([18.0])})
    layouts = Table("layouts", 1, {"layout_flags": A([of_candidate.pop("layout_flags", "")], dtype=object)})
    columns = {k: A([v]) for k, v in of_candidate.items()}
    return {"panels": panels, "layouts": layouts, "candidates": Table("candidates", 1, {"panel": A([0]), "layout": A([0]), **columns})}


@pytest.mark.parametrize(("columns", "rule"), [
    ({"large_deflection": 1.01, "w_greatest": 9.1}, "large-deflection"), ({"large_deflection": 0.99, "w_greatest": 8.9}, ""),
    ({"f_1": 4.9}, "low-frequency"), ({"f_1": 5.0}, ""), ({"f_1": np.nan}, ""),
    ({"u_corner_bound": 1.04, "u_bending": 0.99}, "corner-margin"), ({"u_corner_bound": 0.99, "u_bending": 0.99}, ""),
    ({"u_corner_bound": 1.2, "u_bending": 1.1}, ""),  # fails anyway
    ({"layout_flags": "re-entrant corner, radius beyond the edge"}, "radius-beyond-edge"),
    ({"layout_flags": "grid coarse at an anchor"}, "grid-coarse"), ({"layout_flags": "re-entrant corner"}, ""),
])
def test_each_limit(columns: dict[str, object], rule: str) -> None:
    found = find(_tables(**columns), {})
    assert [i.rule for i in found] == ([rule] if rule else [])
    for issue in found:
        assert issue.severity == "warning" and issue.panel == 7 and issue.way_out
        assert (issue.x, issue.y, issue.z) == (600.0, 0.0, 2300.0)  # centre of the panel


def test_without_candidates_nothing_is_found() -> None:
    assert find({"panels": Table("panels", 0, {})}, {}) == []


def test_deflection_against_half_the_thickness_by_hand() -> None:
    # (1.2 kPa + 0.3 kPa weight outward) x 6e9 mm4 / 1e6 N mm = 9 mm, half of 18 mm
    over, w = large_deflection(A([-1.2e-3]), A([1.0e-3]), A([0.3e-3]), A([6e9]), A([1e6]), A([18.0]))
    assert w[0] == pytest.approx(9.0) and over[0] == pytest.approx(1.0)


def test_the_bound_at_a_corner_by_hand() -> None:
    # 6 x 60 / 100 = 3.6 MPa of 4 MPa, 5 % more
    size = (A([500.0]), A([300.0]))
    assert corner_bound(A([60.0]), A([10.0]), A([4.0]), *size)[0] == pytest.approx(1.05 * 0.9)
    for width in (150.0, 1200.0):  # outside what was held against another element
        assert corner_bound(A([60.0]), A([10.0]), A([4.0]), A([width]), A([100.0]))[0] == pytest.approx(1.30 * 0.9)
