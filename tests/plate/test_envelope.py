"""The table of layouts: envelopes over rigid, elastic and lost anchors, in the order asked for."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from bimcheck.core.tables import Table
from bimcheck.core.vocabulary import STAGE_COLUMNS
from bimcheck.plate.envelope import layouts
from bimcheck.plate.points import solve, solve_many
from bimcheck.plate.shape import build
from tests.plate.shapes import CASES, FOUR, NINE, PANEL, PIERCED, SIX, SQUARE, grid


@dataclass(frozen=True)
class Ask:
    rings: list[np.ndarray]
    anchors: np.ndarray
    nu: float = 0.2
    radius: float = 10.0
    softness: float = 1.05**200  # D / k, mm2: a power of the engine's bins
    thickness: float = 20.0
    softness_moved: float = 0.0


ASKED = [Ask(PANEL, SIX, softness_moved=1.05**180), Ask(PIERCED, grid([180, 1020], [120, 600])), Ask(PANEL, NINE), Ask(PANEL, FOUR[:2]),
         Ask(PANEL, FOUR[:3], softness=0.0), Ask(SQUARE, grid([8, 892], [200, 700]), thickness=0.0)]


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Table:
    return layouts(ASKED, robust=True, where=tmp_path_factory.mktemp("cache"))


def test_shares_are_the_envelope_of_rigid_and_elastic(table: Table) -> None:
    plate = build(PANEL, 0.2)
    for row, anchors in ((0, SIX), (2, NINE)):
        both = solve_many(plate, [anchors, anchors], spring=[np.inf, 1.05**-200]).reaction.reshape(2, -1)
        np.testing.assert_allclose(table["share"][row], both.max(axis=0), rtol=1e-8)
        np.testing.assert_allclose(table["share_min"][row], both.min(axis=0), rtol=1e-8)
        assert np.all(both.max(axis=0) > both.min(axis=0))


def test_greatest_share_of_a_layout(table: Table) -> None:
    for row in (0, 1, 2, 4):
        assert table["share_most"][row] == table["share"][row].max()
    assert np.isnan(table["share_most"][3])


def test_moments_and_deflections(table: Table) -> None:
    both = solve_many(build(PANEL, 0.2), [SIX, SIX], spring=[np.inf, 1.05**-200])
    assert table["m_support"][0] == pytest.approx(both.anchor_moment(10.0).max(), rel=1e-8)
    assert table["m_field"][0] == pytest.approx(both.m_field.max(), rel=1e-8)
    assert table["m_plate"][0] == pytest.approx(both.governing_moment(10.0, 20.0).max(), rel=1e-8)
    assert table["w_unit"][0] == pytest.approx(both.w_max[1], rel=1e-8)
    assert table["w_span"][0] / table["span"][0] == pytest.approx(both.slope.max(), rel=1e-8)


def test_the_field_holds_the_re_entrant_corners(table: Table) -> None:
    solved = solve(build(PIERCED, 0.2), ASKED[1].anchors)
    assert table["m_field"][1] == pytest.approx(max(solved.corner_moment(20.0)[0], solved.m_field[0]), rel=0.02)
    assert table["m_field"][1] > 1.05 * solved.m_field[0]


def test_each_anchor_may_be_lost(table: Table) -> None:
    lost = solve_many(build(PANEL, 0.2), [SIX] * 6, lost=range(6))
    np.testing.assert_allclose(table["share_lost"][0], lost.reaction.reshape(6, 6).max(axis=0), rtol=1e-8)
    assert table["m_support_lost"][0] == pytest.approx(lost.governing_moment(10.0, 20.0).max(), rel=1e-8)
    assert np.all(table["share_lost"][0] > table["share"][0])


def test_any_anchor_may_be_off(table: Table) -> None:
    """Greatest over the six errors, each way; without pressure, so that no force of it is in the others' columns."""
    moved = solve_many(build(PANEL, 0.2), [SIX] * 6, spring=1.05**-180, settled=range(6))
    np.testing.assert_allclose(table["share_moved"][0], np.abs(moved.reaction.reshape(6, 6)).max(axis=0), rtol=1e-8)
    assert table["m_support_moved"][0] == pytest.approx(moved.anchor_moment(10.0).max(), rel=1e-8)
    assert table["m_field_moved"][0] == pytest.approx(moved.m_field.max(), rel=1e-8)
    assert np.isnan(table["m_support_moved"][1:]).all()


def test_three_anchors_yield_to_any_error(tmp_path: Path) -> None:
    """Statically determinate: no force, no moment (and not: unknown)."""
    three = layouts([Ask(PANEL, FOUR[:3], softness_moved=2e4)], where=tmp_path)
    assert three["m_support_moved"][0] * 1e6 == pytest.approx(0.0, abs=1e-3)
    assert np.abs(three["share_moved"].values).max() * 1e6 == pytest.approx(0.0, abs=1e-3)


def test_mechanisms_are_nan_and_flagged(table: Table) -> None:
    for name in ("m_support", "m_field", "m_plate", "w_unit", "w_span"):
        assert np.isnan(table[name]).tolist() == [False, False, False, True, False, False], name
    assert np.isnan(table["share"][3]).all() and np.isfinite(table["share"][4]).all()
    assert np.isnan(table["share_lost"][4]).all() and np.isnan(table["m_support_lost"][4])  # three anchors less one
    assert table["layout_flags"].tolist() == ["", "re-entrant corner", "", "mechanism", "",
                                              "radius beyond the edge, grid coarse at an anchor"]


def test_columns_are_those_of_the_vocabulary(table: Table) -> None:
    known = {c.name for c in STAGE_COLUMNS if c.table == "layouts"} | {"share", "share_min", "share_lost", "share_moved"}
    assert set(table) == known - {"shape_row"}


def test_overhang_by_hand(table: Table) -> None:
    """Corner of the outline to the nearest anchor: (150, 90), (180, 120) and (8, 200) from the corner (Pythagoras)."""
    expected = [np.hypot(150, 90), np.hypot(180, 120), np.hypot(150, 80)]
    np.testing.assert_allclose(table["overhang"][:3], expected)
    assert table["overhang"][5] == pytest.approx(np.hypot(8, 200))


def test_without_robustness_the_lost_columns_are_nan(tmp_path: Path) -> None:
    plain = layouts([Ask(PANEL, SIX), Ask(*CASES["gable"])], where=tmp_path)
    assert np.isnan(plain["m_support_lost"]).all() and np.isnan(plain["share_lost"].values).all()
    assert np.isnan(plain["m_support_moved"]).all() and np.isnan(plain["share_moved"].values).all()
    assert np.isfinite(plain["m_plate"]).all()


def test_no_layouts_no_rows(tmp_path: Path) -> None:
    assert layouts([], where=tmp_path).n == 0
