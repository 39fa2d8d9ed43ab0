"""The same building written another way gives the same table (metamorphic: no outside value is needed)."""

from __future__ import annotations

import math
from pathlib import Path

import ifcopenshell
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bimcheck.read import read_models
from bimcheck.samples.tower import write_tower
from tests.read.common import shape_facts
from tests.shared import shared_models

COUNT = 60
CLOSE = 0.01  # mm, and 1000 mm2 of area: coordinates are written rounded


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[float, ...]]:
    return shape_facts(read_models([write_tower(tmp_path_factory.mktemp("t") / "plain.ifc", COUNT, 20, parts=0)]).elements)


def same(a: dict[str, tuple[float, ...]], b: dict[str, tuple[float, ...]]) -> None:
    assert a.keys() == b.keys()
    left, right = (np.array([t[g] for g in sorted(a)]) for t in (a, b))
    np.testing.assert_allclose(right, left, atol=CLOSE, rtol=1e-6)


@pytest.mark.parametrize("unit", ["CENTIMETRE", "METRE", "FOOT", "INCH"])
def test_units(plain: dict, unit: str, tmp_path: Path) -> None:
    same(plain, shape_facts(read_models([write_tower(tmp_path / "m.ifc", COUNT, 20, parts=0, unit=unit)]).elements))


@pytest.mark.parametrize(("body", "schema"), [("brep", "IFC4"), ("tessellation", "IFC4"), ("mapped", "IFC4"), ("brep", "IFC2X3"),
                                              ("extrusion", "IFC4X3"), ("mapped", "IFC2X3")])
def test_bodies_and_schemas(plain: dict, body: str, schema: str, tmp_path: Path) -> None:
    same(plain, shape_facts(read_models([write_tower(tmp_path / "m.ifc", COUNT, 20, body, schema, parts=0)]).elements))


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    return write_tower(tmp_path_factory.mktemp("t") / "text.ifc", COUNT, 20, parts=0).read_text(encoding="utf-8")


@settings(max_examples=4, deadline=None)
@given(st.floats(-6e9, 6e9), st.floats(-6e9, 6e9), st.floats(0, 2 * math.pi))
def test_moved_and_turned(plain: dict, text: str, x: float, y: float, turn: float) -> None:
    """Up to 6e6 m away and turned in plan: sides, thickness and area stay; normals turn along."""
    file = ifcopenshell.file.from_string(text)
    before = read_models([file]).elements
    point = file.create_entity("IfcCartesianPoint", (x, y, 0.0))
    up, ref = (file.create_entity("IfcDirection", d) for d in ((0.0, 0.0, 1.0), (math.cos(turn), math.sin(turn), 0.0)))
    # An axis placement of its own: the written one is shared with the building.
    file.by_type("IfcSite")[0].ObjectPlacement.RelativePlacement = file.create_entity("IfcAxis2Placement3D", point, up, ref)
    after = read_models([file]).elements
    same(plain, shape_facts(after))
    c, s = math.cos(turn), math.sin(turn)
    turned = before["raw_n"] @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]).T
    assert np.abs(np.abs(np.einsum("ij,ij->i", turned, after["raw_n"])) - 1).max() < 1e-9


def test_order_of_files_only_orders_the_rows() -> None:
    folder = shared_models("truth")
    names = [f"c13_federated_{n}.ifc" for n in ("east", "north", "rails", "west")]
    a, b = (shape_facts(read_models([folder / n for n in order]).elements) for order in (names, names[::-1]))
    same(a, b)


def test_reading_twice_gives_the_same() -> None:
    folder = shared_models("truth")
    a, b = (read_models([folder / "c09_classes_bodies.ifc"]) for _ in range(2))
    for name in a.elements:
        left, right = a.elements[name], b.elements[name]
        left, right = (getattr(x, "values", x) for x in (left, right))
        np.testing.assert_array_equal(left, right, err_msg=name)
    np.testing.assert_array_equal(a.obstacles["triangles"].values, b.obstacles["triangles"].values)


def test_a_second_process_reads_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    path = shared_models("truth") / "c09_classes_bodies.ifc"
    tables = []
    for large in (0, 1 << 40):
        monkeypatch.setattr("bimcheck.read.stage.LARGE", large)
        tables.append(read_models([path]))
    for name in tables[0].obstacles:
        left, right = (getattr(t.obstacles[name], "values", t.obstacles[name]) for t in tables)
        np.testing.assert_array_equal(left, right, err_msg=name)


def test_odd_layouts_read_the_same(tmp_path: Path) -> None:
    """Comments and broken lines (ISO 10303-21, 5.6) change nothing."""
    plain = (shared_models("truth") / "c09_classes_bodies.ifc").read_text(encoding="utf-8")
    head, data = plain.split("DATA;", 1)
    odd = {"broken.ifc": data.replace(",#", " ,\n #"), "comments.ifc": data.replace("=IFCPLATE(", "= /* a plate; */ IFCPLATE ("),
           "blanks.ifc": data.replace("=IFC", " =  IFC").replace("\n", "\r\n")}
    tables = [read_models([shared_models("truth") / "c09_classes_bodies.ifc"]).elements]
    for name, text in odd.items():
        (tmp_path / name).write_bytes(f"{head}DATA;{text}".encode())
        tables.append(read_models([tmp_path / name]).elements)
    for table in tables[1:]:
        for name in (n for n in table if n != "model"):
            left, right = (getattr(t[name], "values", t[name]) for t in (tables[0], table))
            np.testing.assert_array_equal(left, right, err_msg=name)
