"""Elevation pictures: one a facade, complete, legible without colour, the same bytes every time."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest

from bimcheck.core.tables import Ragged, Table
from bimcheck.write import elevation_parts as part
from bimcheck.write.elevations import pictures, write
from tests.wind.build import Block, block_tables, plan_of

SVG = "{http://www.w3.org/2000/svg}"


def result(standard: str = "en1991-1-4:2005", place: str = "field", **columns: object) -> dict[str, Table]:
    tables = block_tables(Block(b=24.0, d=9.0, h=9.0))
    n = tables["panels"].n
    storey = np.array([f"Level {int(z // 3000)} <&>" for z in tables["panels"]["z_bottom"] + 1], dtype=object)
    places = np.array(["field"] * (n - 1) + [place], dtype=object)
    guid = np.array([f"G{i}" for i in range(n)], dtype=object)
    return plan_of(standard).run("panels", {**tables, "panels": tables["panels"].with_columns(storey=storey, place=places, guid=guid, **columns)})


def texts(svg: str) -> list[str]:
    return [t.text or "" for t in ElementTree.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("standard, letters", [("en1991-1-4:2005", {"A", "B", "C", "E"}), ("asce7-16", {"4", "5"})])
def test_every_panel_is_drawn_with_its_letter_and_its_suction(standard: str, letters: set[str]) -> None:
    tables = result(standard)
    found = pictures(tables)
    assert list(found) == ["F1", "F2", "F3", "F4"]
    for name, svg in found.items():
        rows = tables["panels"]["facade"] == name
        assert len(list(ElementTree.fromstring(svg).iter(f"{SVG}path"))) == 2 * rows.sum()
        printed = texts(svg)
        assert sum(t in letters for t in printed) == rows.sum()
        for value in -tables["panels"]["w_suction"][rows] * 1e3:
            assert f"{value:.2f}" in printed


def test_storeys_dimensions_and_legend_are_printed() -> None:
    printed = texts(pictures(result())["F1"])
    assert "Level 0 <&> +0.00" in printed and "Level 2 <&> +6.00" in printed
    assert printed.count("24.00 m") == 2 and printed.count("9.00 m") == 2
    assert {"zone A", "zone B"} <= set(printed)
    # b = 24, d = 9, h = 9: for wind along the long side e = min(9, 18) = 9: A 1.8 m, B to 9 m (EN 1991-1-4 Figure 7.5).
    assert printed.count("A 1.80") == 4 and printed.count("B 9.00") == 4
    assert any("characteristic" in t for t in printed)


def test_what_no_zone_covers_is_hatched_and_marked() -> None:
    svg = pictures(result(place="soffit"))["F4"]
    assert texts(svg).count("?") == 2 and "? not checked" in texts(svg)
    assert svg.count(f'fill="{part.UNCOVERED}"') == 4  # the panel and the legend, twice


def test_us_units() -> None:
    """24 m = 78.74 ft (0.3048 m exactly)."""
    printed = texts(pictures(result("asce7-16"), "us")["F1"])
    assert "78.74 ft" in printed and any("psf" in t for t in printed)


def test_cut_outs_and_shapes_stay_open() -> None:
    n = block_tables(Block(b=24.0, d=9.0, h=9.0))["panels"].n
    ring = np.array([[0, 0, 0], [1500, 0, 0], [1500, 3000, 0], [500, 500, 1], [600, 500, 1], [600, 600, 1]], dtype=float)
    svg = pictures(result(outline=Ragged.of([ring] * n, (3,))))["F1"]
    path = next(ElementTree.fromstring(svg).iter(f"{SVG}path"))
    assert path.get("d", "").count("M") == 2 and path.get("fill-rule") == "evenodd"


def test_files_are_written_and_the_same_every_time(tmp_path: Path) -> None:
    one = write(SimpleNamespace(tables=result()), tmp_path / "a")
    other = write(SimpleNamespace(tables=result()), tmp_path / "b")
    assert [p.name for p in one] == [f"elevation_F{k}.svg" for k in (1, 2, 3, 4)]
    assert [p.read_bytes() for p in one] == [p.read_bytes() for p in other]


def test_names_are_made_fit_for_files() -> None:
    tables = result()
    same = tables["facades"].with_columns(facade_name=np.array(["N/1", "N 1", "N/1", "x"], dtype=object))
    assert list(pictures({**tables, "facades": same})) == ["N_1", "N_1~2", "N_1~3", "x"]


def test_classes_have_round_edges_and_hold_every_value() -> None:
    found = part.classes(np.array([0.31, 1.02, np.nan, 2.44]))
    assert found.edges == (0.0, 0.5, 1.0, 1.5, 2.0, 2.5)
    assert part.classes(np.array([0.7, 0.7])).edges == (0.7, 0.75)
    assert part.classes(np.array([np.nan])).edges[0] == 0.0
    assert len({found.fill(v) for v in (0.2, 0.7, 1.2, 1.7, 2.2)}) == 5


@pytest.mark.parametrize("fill", [*part.ZONE_FILL.values(), *part.RAMP])
def test_letters_read_on_every_fill(fill: str) -> None:
    """Contrast of at least 3 to 1 for large letters (WCAG 2 success criterion 1.4.3, sRGB luminance)."""
    def luminance(colour: str) -> float:
        parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055)**2.4 for c in parts]
        return float(np.dot(linear, [0.2126, 0.7152, 0.0722]))

    light, dark = sorted((luminance(fill), luminance(part.ink(fill))), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 3.0
