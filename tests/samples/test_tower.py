"""Towers: as many panels as asked, valid in every schema, bodies of the planned size, the same bytes each time."""

from __future__ import annotations

from pathlib import Path

import ifcopenshell
import ifcopenshell.util.unit
import numpy as np
import pytest

from bimcheck.core.errors import InputError
from bimcheck.samples.tower import BASE_STOREYS, GRANITE, write_tower
from bimcheck.samples.tower_plan import JOINT, MATERIALS, RETURN, Tower, tower
from tests.samples.measure import boxes, messages, triangles, volume

BODIES = ("extrusion", "brep", "tessellation", "mapped")
VARIANTS = [(s, b) for s in ("IFC2X3", "IFC4", "IFC4X3") for b in BODIES if (s, b) != ("IFC2X3", "tessellation")]


def _panels(path: Path) -> list[ifcopenshell.entity_instance]:
    return [e for e in ifcopenshell.open(str(path)).by_type("IfcElement") if e.ObjectType == "Facade panel"]


def _sizes(design: Tower) -> set[tuple[float, float]]:
    return {(w, h) for f in design.faces for w in f.widths for _, rows in design.storeys for _, h in rows}


@pytest.mark.parametrize(("schema", "body"), VARIANTS)
def test_valid_and_measured_by_another_reader(tmp_path: Path, schema: str, body: str) -> None:
    path = write_tower(tmp_path / "t.ifc", 60, 30, body, schema, seed=5, unit="METRE")
    assert messages(path) == []
    assert len(_panels(path)) == 60
    bodies = triangles(path, world=False)
    design = tower(60, 30, 5)  # expected sizes: the plan that was asked for, never the written file
    n = len(design.faces[0].widths)
    for k, (_, rows) in enumerate(design.storeys):
        for c, w in enumerate(design.faces[0].widths):
            for r, (_, h) in enumerate(rows):
                body_of = bodies[f"T-F1-{k:02d}-{r * n + c + 1:03d}"]
                t = MATERIALS[GRANITE if k < BASE_STOREYS else design.faces[0].materials[c]]
                assert np.ptp(body_of, axis=(0, 1)) == pytest.approx([w, h, t], abs=1e-3)
                assert volume(body_of) == pytest.approx(w * h * t, rel=1e-6)  # closed, and its faces look outward


@pytest.mark.parametrize("schema", ["IFC2X3", "IFC4", "IFC4X3"])
def test_the_schema_s_own_rules_hold(tmp_path: Path, schema: str) -> None:
    assert messages(write_tower(tmp_path / "t.ifc", 40, 10, schema=schema), rules=True) == []


# Expected: SI prefixes; the international foot and inch.
@pytest.mark.parametrize(("unit", "metres"), [("MILLIMETRE", 0.001), ("CENTIMETRE", 0.01), ("METRE", 1.0), ("FOOT", 0.3048), ("INCH", 0.0254)])
def test_the_stated_unit_is_the_unit(tmp_path: Path, unit: str, metres: float) -> None:
    model = ifcopenshell.open(str(write_tower(tmp_path / "t.ifc", 40, 10, unit=unit)))
    assert ifcopenshell.util.unit.calculate_unit_scale(model) == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize("unit", ["CENTIMETRE", "FOOT", "INCH"])
def test_units_change_the_numbers_and_not_the_building(tmp_path: Path, unit: str) -> None:
    plain = boxes(write_tower(tmp_path / "mm.ifc", 40, 10, parts=0), world=True)
    other = boxes(write_tower(tmp_path / "u.ifc", 40, 10, parts=0, unit=unit), world=True)
    assert plain.keys() == other.keys()
    for tag, box in plain.items():
        assert other[tag] == pytest.approx(box, abs=1e-3)


@pytest.mark.parametrize("panels", [40, 41, 333, 1000])
def test_exactly_as_many_panels(tmp_path: Path, panels: int) -> None:
    assert len(_panels(write_tower(tmp_path / "t.ifc", panels, 50, parts=0))) == panels


def test_twenty_thousand_have_about_fifteen_hundred_sizes() -> None:
    sizes = _sizes(tower(20_000, 1_500, 0))
    assert len(sizes) == pytest.approx(1_500, rel=0.02)  # what was asked for
    assert not sizes & {(h, w) for w, h in sizes}  # none is another one turned
    assert all(600 <= h < 900 <= w <= 1500 for w, h in sizes)


def test_opposite_sides_close_the_plan() -> None:
    design = tower(2_000, 300, 1)
    w, d = design.plan
    for face, whole in zip(design.faces, (w, d - 2 * RETURN, w, d - 2 * RETURN), strict=True):
        assert face.starts[-1] + face.widths[-1] == pytest.approx(whole)
        gaps = np.diff(face.starts) - np.array(face.widths[:-1])
        assert gaps == pytest.approx(JOINT)


def test_as_many_parts_as_asked(tmp_path: Path) -> None:
    for parts in (0.0, 1.0, 3.0):
        model = ifcopenshell.open(str(write_tower(tmp_path / "t.ifc", 1000, 100, parts=parts)))
        found = len(model.by_type("IfcMember")) + len(model.by_type("IfcDiscreteAccessory"))
        assert found == pytest.approx(1000 * parts, rel=0.02)


def test_nothing_meets_that_should_not(tmp_path: Path) -> None:
    box = np.array(list(boxes(write_tower(tmp_path / "t.ifc", 200, 40), world=True).values()))
    low, high = np.maximum(box[:, None, 0], box[None, :, 0]), np.minimum(box[:, None, 1], box[None, :, 1])
    shared = (high - low).min(axis=2)
    np.fill_diagonal(shared, -1.0)
    assert shared.max() < 0.01  # axis-parallel boxes: nothing overlaps by more than a rounding


def test_same_arguments_same_bytes(tmp_path: Path) -> None:
    first = write_tower(tmp_path / "t.ifc", 60, 30, seed=7).read_bytes()
    assert write_tower(tmp_path / "t.ifc", 60, 30, seed=7).read_bytes() == first
    assert write_tower(tmp_path / "t.ifc", 60, 30, seed=8).read_bytes() != first


def test_global_ids_are_unique(tmp_path: Path) -> None:
    ids = [e.GlobalId for e in ifcopenshell.open(str(write_tower(tmp_path / "t.ifc", 300, 40))).by_type("IfcRoot")]
    assert len(set(ids)) == len(ids)


@pytest.mark.parametrize("wrong", [{"panels": 3}, {"unique_shapes": 0}, {"parts": -1.0}, {"schema": "IFC5"}, {"unit": "YARD"},
                                   {"body": "cloud"}, {"body": "tessellation", "schema": "IFC2X3"}])
def test_a_wrong_request_is_told(tmp_path: Path, wrong: dict[str, object]) -> None:
    with pytest.raises(InputError):
        write_tower(tmp_path / "t.ifc", **({"panels": 40} | wrong))  # type: ignore[arg-type]
    assert not list(tmp_path.iterdir())
