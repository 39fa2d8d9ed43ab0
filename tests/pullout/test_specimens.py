"""Specimen orders.  Numbers are common practice, no source: 10 a material and thickness, 20 to 30 where colours differ."""

from __future__ import annotations

import numpy as np

from bimcheck.pullout.specimens import specimen_order

NAN = float("nan")


def test_one_material_and_thickness() -> None:
    order = specimen_order(["porcelain"] * 40, [12.0] * 40, ["white"] * 40, [False] * 40, [7.0] * 40)
    assert order.n == 1
    assert (order["specimens"][0], order["side"][0], order["panels"][0], order["drilling_depth"][0]) == (10, 200.0, 40, 7.0)
    assert order["condition"][0] == "dry"


def test_each_thickness_has_its_own_order_and_depth() -> None:
    order = specimen_order(["slab"] * 3, [20.0, 30.0, 30.0], [""] * 3, [False] * 3, [10.0, 15.0, 15.0])
    assert order["specimens"].tolist() == [10, 10]
    assert dict(zip(order["thickness"], order["drilling_depth"], strict=True)) == {20.0: 10.0, 30.0: 15.0}


def test_colours_share_twenty_to_thirty() -> None:
    def total(colours: int) -> tuple[int, int]:
        order = specimen_order(["slab"] * colours, [30.0] * colours, [f"c{i}" for i in range(colours)], [False] * colours, [15.0] * colours)
        return int(order["specimens"].sum()), int(order["specimens"].min())

    assert [total(n) for n in (1, 2, 3)] == [(10, 10), (20, 10), (30, 10)]
    assert total(5) == (30, 6)
    assert total(12) == (60, 5)  # never fewer than 5 a colour: below, colours cannot be compared


def test_natural_stone_in_three_conditions() -> None:
    order = specimen_order(["granite", "porcelain"], [30.0, 12.0], ["", ""], [True, False], [15.0, 7.0])
    assert order["condition"].tolist() == ["dry", "wet", "frost", "dry"]
    assert order["specimens"].sum() == 40


def test_no_item_yet_is_said_and_kept() -> None:
    order = specimen_order(["granite"] * 2, [30.0] * 2, [""] * 2, [False] * 2, [NAN, NAN])
    assert order.n == 1
    assert np.isnan(order["drilling_depth"][0])
    assert order["panels"][0] == 2


def test_no_panels_no_order_and_the_order_of_panels_does_not_matter() -> None:
    assert specimen_order([], [], [], [], []).n == 0
    a = specimen_order(["a", "b"], [20.0, 30.0], ["", ""], [False, False], [9.0, 9.0])
    b = specimen_order(["b", "a"], [30.0, 20.0], ["", ""], [False, False], [9.0, 9.0])
    assert a["material"].tolist() == b["material"].tolist()
