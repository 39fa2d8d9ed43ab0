"""Unique outlines, and storeys where the files say nothing."""

from __future__ import annotations

import numpy as np

from bimcheck.core.tables import Ragged
from bimcheck.relate.facts import Storey
from bimcheck.relate.shapes import _moved, find_shapes
from bimcheck.relate.storeys import Levels, by_height, floors_of

L_SHAPE = np.array([[0, 0, 0], [900, 0, 0], [900, 300, 0], [400, 300, 0], [400, 1000, 0], [0, 1000, 0]], float)


def test_all_eight_positions_are_one_shape_and_the_turn_leads_there() -> None:
    rows = [_moved(L_SHAPE, t) for t in range(8)]
    other = L_SHAPE * [1.0, 1.001, 1.0]
    shape, turn, table = find_shapes(Ragged.of([*rows, other], (3,)))
    assert len(set(shape[:8])) == 1 and shape[8] != shape[0] and table.n == 2
    for row, t in zip(rows, turn, strict=False):
        assert {tuple(p) for p in _moved(row, t)} == {tuple(p) for p in table["outline"][shape[0]]}


def test_cut_outs_make_another_shape() -> None:
    hole = np.array([[100, 100, 1], [100, 200, 1], [200, 200, 1], [200, 100, 1]], float)
    shape, _, _ = find_shapes(Ragged.of([L_SHAPE, np.vstack([L_SHAPE, hole])], (3,)))
    assert shape[0] != shape[1]


def names(storeys: tuple[Storey, ...], z: list[float], known: list[str] | None = None) -> list[str]:
    levels = Levels(storeys, floors_of(np.array([0.0, 3500.0, 7000.0]), np.zeros(0)), 0.0)
    blank = np.array(known or [""] * len(z), dtype=object)
    return list(by_height(blank, np.zeros(len(z), dtype=int), np.array(z), levels))


def test_stated_heights_decide() -> None:
    stated = (Storey(0, "Ground", 0.0), Storey(0, "First", 3600.0))
    assert names(stated, [-500.0, 1000.0, 3700.0]) == ["Ground", "Ground", "First"]


def test_storeys_all_at_zero_state_nothing() -> None:
    flat = (Storey(0, "Ground", 0.0), Storey(0, "First", 0.0))
    assert names(flat, [1000.0, 3600.0]) == ["+0.00 m", "+3.50 m"]


def test_another_file_of_the_building_states_the_heights() -> None:
    assert names((Storey(1, "Ground", 0.0), Storey(1, "First", 3600.0)), [4000.0]) == ["First"]


def test_containment_stays() -> None:
    assert names((Storey(0, "Ground", 0.0), Storey(0, "First", 3600.0)), [4000.0], ["Mezzanine"]) == ["Mezzanine"]
