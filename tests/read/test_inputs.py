"""Files that cannot be used say so in one line; what a file may leave open can be stated."""

from __future__ import annotations

import zipfile
from pathlib import Path

import ifcopenshell
import pytest

from bimcheck.core.errors import InputError
from bimcheck.read import Model, ReadSettings, Selection, read_models
from tests.read.common import solid, write_model
from tests.shared import shared_models

PLATE = ("#101=IFCDIRECTION((0.,0.,1.));\n" + solid(
    "#112=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,1.2,0.6);\n#190=IFCEXTRUDEDAREASOLID(#112,#6,#101,0.02);"))


def refused(path: Path | list[Path], part: str, settings: ReadSettings | None = None) -> None:
    with pytest.raises(InputError) as caught:
        read_models(path if isinstance(path, list) else [path], settings)
    assert part in str(caught.value)
    assert "\n" not in str(caught.value)


def test_no_file(tmp_path: Path) -> None:
    refused(tmp_path / "absent.ifc", "cannot be read")


def test_no_ifc(tmp_path: Path) -> None:
    (tmp_path / "a.ifc").write_text("hello")
    refused(tmp_path / "a.ifc", "no IFC file")


def test_empty(tmp_path: Path) -> None:
    (tmp_path / "a.ifc").write_bytes(b"")
    refused(tmp_path / "a.ifc", "no IFC file")


def test_cut_off(tmp_path: Path) -> None:
    path = write_model(tmp_path / "a.ifc", PLATE)
    path.write_bytes(path.read_bytes()[:-60])
    refused(path, "cut off")


def test_schema_that_is_not_supported(tmp_path: Path) -> None:
    path = write_model(tmp_path / "a.ifc", PLATE)
    path.write_text(path.read_text().replace("'IFC4'", "'IFC9'"))
    refused(path, "a.ifc")


def test_two_of_one_name(tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    refused([write_model(tmp_path / "a.ifc", PLATE), write_model(tmp_path / "b" / "A.ifc", PLATE)], "two models are called")


def test_no_length_unit(tmp_path: Path) -> None:
    """Refused with advice; with the unit stated 1.2 x 0.6 x 0.02 are millimetres or metres as told."""
    path = write_model(tmp_path / "a.ifc", PLATE, unit="")
    refused(path, "length_unit")
    table = read_models([path], ReadSettings(model=Model(length_unit="m"))).elements
    assert table["thickness"][0] == pytest.approx(20.0)


def test_a_stated_unit_does_not_override_the_file(tmp_path: Path) -> None:
    path = write_model(tmp_path / "a.ifc", PLATE, unit="METRE")
    assert read_models([path], ReadSettings(model=Model(length_unit="mm"))).elements["thickness"][0] == pytest.approx(20.0)


def test_zipped(tmp_path: Path) -> None:
    path = write_model(tmp_path / "a.ifc", PLATE, unit="METRE")
    with zipfile.ZipFile(tmp_path / "z.ifczip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.write(path, "inside.ifc")
    read = read_models([tmp_path / "z.ifczip"])
    assert read.elements["thickness"][0] == pytest.approx(20.0)
    assert read.models[0].name == "z.ifc"


def test_an_open_file(tmp_path: Path) -> None:
    file = ifcopenshell.open(str(write_model(tmp_path / "a.ifc", PLATE, unit="METRE")))
    assert read_models([file]).elements["status"][0] == "panel"


def test_a_class_that_does_not_exist(tmp_path: Path) -> None:
    path = write_model(tmp_path / "a.ifc", PLATE, unit="METRE")
    refused(path, "IfcPlat", ReadSettings(selection=Selection(classes=["IfcPlat"])))


def test_a_query_that_is_none(tmp_path: Path) -> None:
    path = write_model(tmp_path / "a.ifc", PLATE, unit="METRE")
    refused(path, "query", ReadSettings(selection=Selection(exclude=["IfcPlate, ,,=("])))


def test_queries_and_only(tmp_path: Path) -> None:
    path = write_model(tmp_path / "a.ifc", PLATE, unit="METRE")
    table = read_models([path], ReadSettings(selection=Selection(exclude=["IfcPlate, Name=plate"]))).elements
    assert (table["status"][0], table["reason"][0].split(":")[0]) == ("out_of_scope", "not-a-panel")
    assert read_models([path], only="IfcPlate, Name=other").elements.n == 0


def test_a_circle_of_placements(tmp_path: Path) -> None:
    path = write_model(tmp_path / "a.ifc", PLATE, unit="METRE")
    path.write_text(path.read_text().replace("#7=IFCLOCALPLACEMENT($,#6)", "#7=IFCLOCALPLACEMENT(#8,#6);\n#8=IFCLOCALPLACEMENT(#7,#6)"))
    refused(path, "refers to itself")


def test_a_model_without_panels() -> None:
    """c13: the file of rails alone gives no rows, and its bodies."""
    read = read_models([shared_models("truth") / "c13_federated_rails.ifc"])
    assert (read.elements.n, read.obstacles.n) == (0, 25)
