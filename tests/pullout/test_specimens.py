"""Specimen orders.  Numbers are common practice, no source: 10 a material and thickness, 20 to 30 where colours differ."""

from __future__ import annotations

import math

from bimcheck.pullout.specimens import Specimens, order_rows, specimen_order

DRY, STONE = ("dry",), ("dry", "wet", "frost")


def _order(*panels: tuple[str, float, str, tuple[str, ...], float]) -> list[Specimens]:
    return specimen_order(*map(list, zip(*panels, strict=True))) if panels else specimen_order([], [], [], [], [])


def test_one_material_and_thickness() -> None:
    (line,) = _order(*[("porcelain", 12.0, "white", DRY, 7.0)] * 40)
    assert (line.count, line.side, line.hole_depth, line.condition) == (10, 200.0, 7.0, "dry")
    assert line.size == "200 x 200 mm (8 x 8 in)"
    assert "no source" in line.basis


def test_each_thickness_has_its_own_order_and_depth() -> None:
    lines = _order(("slab", 20.0, "", DRY, 10.0), ("slab", 30.0, "", DRY, 15.0), ("slab", 30.0, "", DRY, 15.0))
    assert [(x.thickness, x.hole_depth, x.count) for x in lines] == [(20.0, 10.0, 10), (30.0, 15.0, 10)]


def test_colours_share_twenty_to_thirty() -> None:
    def total(colours: int) -> tuple[int, int]:
        lines = _order(*[("slab", 30.0, f"c{i:02d}", DRY, 15.0) for i in range(colours)])
        return sum(x.count for x in lines), min(x.count for x in lines)

    assert [total(n) for n in (1, 2, 3)] == [(10, 10), (20, 10), (30, 10)]
    assert total(5) == (30, 6)
    assert total(12) == (60, 5)  # ASTM C1354: never fewer than 5


def test_natural_stone_in_three_conditions() -> None:
    lines = _order(("granite", 30.0, "", STONE, 15.0), ("porcelain", 12.0, "", DRY, 7.0))
    assert sorted(x.condition for x in lines) == ["dry", "dry", "frost", "wet"]
    assert sum(x.count for x in lines) == 40


def test_no_item_yet_is_said_and_kept() -> None:
    (line,) = _order(("granite", 30.0, "", DRY, math.nan), ("granite", 30.0, "", DRY, math.nan))
    assert math.isnan(line.hole_depth)


def test_no_panels_no_order_and_the_order_of_panels_does_not_matter() -> None:
    assert _order() == []
    a, b = ("a", 20.0, "", DRY, 9.0), ("b", 30.0, "", DRY, 9.0)
    assert _order(a, b) == _order(b, a)


def test_rows_for_the_laboratory() -> None:
    rows = order_rows(["granite", "porcelain"], [30.0, 12.0], ["grey", ""], [True, False], [15.0, math.nan])
    assert [(r["material"], r["condition"], r["specimens"], r["drilling_depth_mm"]) for r in rows] == [
        ("granite", "dry", 10, 15.0), ("granite", "frost", 10, 15.0), ("granite", "wet", 10, 15.0), ("porcelain", "dry", 10, None)]
