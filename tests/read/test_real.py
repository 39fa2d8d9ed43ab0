"""Models made by others: the balance closes, and what their sources say about them holds."""

from __future__ import annotations

from collections import Counter

import ifcopenshell
import numpy as np
import pytest

from bimcheck.read.settings import ReadSettings
from bimcheck.read.stage import read_models
from tests.shared import SHARED

FOLDER = SHARED / "models" / "real"
FILES = sorted(p.name for p in FOLDER.glob("*.ifc"))
pytestmark = pytest.mark.skipif(not FILES, reason="needs the real models next to the project")


def elements(name: str):
    return read_models([FOLDER / name], ReadSettings()).elements


@pytest.mark.parametrize("name", FILES)
def test_every_element_of_the_classes_has_a_row(name: str) -> None:
    settings = ReadSettings()
    table = read_models([FOLDER / name], settings).elements
    file = ifcopenshell.open(str(FOLDER / name))
    listed = {e.id() for c in settings.selection.classes for e in file.by_type(c)}
    assert listed <= set(table["step_id"].tolist())
    assert len(set(table["step_id"].tolist())) == table.n
    assert sum(Counter(table["status"]).values()) == table.n
    assert all(r for r, s in zip(table["reason"], table["status"], strict=True) if s != "panel")


def test_steel_plates_and_bolts_are_no_facade() -> None:
    """68 connection plates of steel and 196 bolts of the author (the source's own note)."""
    result = read_models([FOLDER / "steel_plates_fasteners_inch.ifc"], ReadSettings())
    table = result.elements
    plates = table["ifc_class"] == "IfcPlate"
    assert plates.sum() == 68
    assert not (table["status"] == "panel").any()
    assert (result.obstacles["role"] == "fastener").sum() == 196


def test_glass_is_recognised_in_english_and_spanish() -> None:
    for name, count in (("house_ifc4_mm.ifc", 6), ("plates_mapped_metre.ifc", 12)):
        table = elements(name)
        plates = table["ifc_class"] == "IfcPlate"
        assert plates.sum() == count  # the source's own note
        assert all(r.startswith("material:glass") for r in table["reason"][plates])


def test_ceilings_mullions_and_containers_are_told_apart() -> None:
    table = elements("house_ifc4_mm.ifc")
    assert not (table["status"] == "panel").any()
    assert all(r.startswith("not-a-panel") for r in table["reason"][np.isin(table["ifc_class"], ["IfcCovering", "IfcMember", "IfcCurtainWall"])])


def test_a_plate_at_5_8e9_mm_is_measured_to_a_hundredth() -> None:
    """1780 x 5345 x 270 mm at UTM coordinates in millimetres (the source's own note)."""
    table = elements("precast_plate_utm_mm.ifc")
    assert table["status"].tolist() == ["panel"]
    size = np.sort(np.ptp(table["raw_outline"][0][:, :2], axis=0))
    assert (*size, table["thickness"][0]) == pytest.approx((1780.0, 5345.0, 270.0), abs=0.01)


def test_the_same_detail_in_metres_and_feet() -> None:
    """One detail written twice, by IFC4 in metres and IFC2X3 in feet: same sizes within 0.5 mm."""
    sizes = []
    for name in ("rainscreen_detail_ifc4_metre.ifc", "rainscreen_detail_ifc2x3_foot.ifc"):
        table = elements(name)
        found = {}
        for row in range(table.n):
            outline = table["raw_outline"][row]
            if len(outline) and np.isfinite(table["thickness"][row]):
                found[table["name"][row].split(":")[0]] = (*np.sort(np.ptp(outline[:, :2], axis=0)), table["thickness"][row])
        sizes.append(found)
    shared = sizes[0].keys() & sizes[1].keys()
    assert len(shared) > 10
    for name in shared:
        assert sizes[0][name] == pytest.approx(sizes[1][name], abs=0.5), name


def test_layers_and_studs_of_the_detail_are_no_panels() -> None:
    table = elements("rainscreen_detail_ifc4_metre.ifc")
    words = ("stud", "membrane", "insulation", "gypsum", "ceiling", "frame", "flashing", "concrete wall", "glass")
    taken = [n for n, s in zip(table["name"], table["status"], strict=True) if s == "panel" and any(w in n.lower() for w in words)]
    assert taken == []
