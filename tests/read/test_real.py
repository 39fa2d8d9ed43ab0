"""Models by authoring tools, copied under their licences: what is in them stands in their SOURCES list."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from bimcheck.read import inspect_rows, read_models
from tests.read.common import extents
from tests.shared import SHARED, shared_models

REAL = SHARED / "models" / "real"
FILES = sorted(p.name for p in REAL.glob("*.ifc")) if REAL.exists() else []


def path(name: str) -> Path:
    return shared_models("real") / name


@pytest.mark.parametrize("name", FILES)
def test_balance(name: str) -> None:
    read = read_models([path(name)])
    model, table = read.models[0], read.elements
    assert table.n + sum(model.other_counts.values()) == len(model.opened.file.by_type("IfcElement"))
    assert set(table["status"]) <= {"panel", "out_of_scope", "unreadable"}
    assert sum(r["count"] for r in inspect_rows(read)) == table.n


@pytest.mark.parametrize(("name", "glass"), [("plates_mapped_metre.ifc", 12), ("house_ifc4_mm.ifc", 6)])
def test_curtain_walls_of_glass(name: str, glass: int) -> None:
    read = read_models([path(name)])
    assert "panel" not in set(read.elements["status"])
    assert sum(r.startswith("material:glass") for r in read.elements["reason"]) == glass


def test_steel_plates_are_no_panels() -> None:
    """68 connection plates, none of them a facade panel; 196 fasteners of the author's own are seen."""
    read = read_models([path("steel_plates_fasteners_inch.ifc")])
    assert "panel" not in set(read.elements["status"])
    assert sum(c == "IfcPlate" for c in read.elements["ifc_class"]) == 68
    assert Counter(read.obstacles["role"])["fastener"] == 196


def test_precast_plate_far_from_the_origin() -> None:
    """One plate of 1780 x 5345 x 270 mm at 5.8e9 mm."""
    table = read_models([path("precast_plate_utm_mm.ifc")]).elements
    assert table["status"][0] == "panel"
    assert np.abs(table["raw_origin"][0]).max() > 5e9
    assert sorted(extents(table, 0)) == pytest.approx([1780.0, 5345.0], abs=0.5)
    assert table["thickness"][0] == pytest.approx(270.0, abs=0.01)


def test_one_detail_in_two_schemas_and_units() -> None:
    """The same elements have the same dimensions within 0.5 mm."""
    seen = []
    for name in ("rainscreen_detail_ifc4_metre.ifc", "rainscreen_detail_ifc2x3_foot.ifc"):
        table = read_models([path(name)]).elements
        rows = [i for i in range(table.n) if table["status"][i] == "panel" and table["name"][i].startswith("Composite panel")]
        key = [table["name"][i].split(":")[0] for i in rows]
        seen.append({k: (*sorted(extents(table, i)), table["thickness"][i], table["thickness_max"][i]) for k, i in zip(key, rows, strict=True)})
    assert len(seen[0]) == 12
    assert seen[0].keys() == seen[1].keys()
    for name, facts in seen[0].items():
        assert facts == pytest.approx(seen[1][name], abs=0.5), name


def test_scene_without_facade() -> None:
    read = read_models([path("scene_ifc4x3_tessellated.ifc")])
    assert "panel" not in set(read.elements["status"])
    assert read.models[0].map_conversion
