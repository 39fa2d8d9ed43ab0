"""Input that cannot be used is refused in one line that says what to do."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from bimcheck.core.errors import InputError
from bimcheck.read.settings import Model, ReadSettings, Selection
from bimcheck.read.stage import read_models
from tests.read.plain import Plain

FOOT = "IFCCONVERSIONBASEDUNIT({dims},.LENGTHUNIT.,'{name}',{factor})"


def plate(unit: str | None = "mm", schema: str = "IFC4") -> Plain:
    model = Plain(unit, schema)
    model.element(material="Granite")
    return model


def refused(*paths: Path, settings: ReadSettings | None = None) -> str:
    with pytest.raises(InputError) as caught:
        read_models(list(paths), settings or ReadSettings())
    line = str(caught.value)
    assert "\n" not in line and caught.value.do
    return line


def test_missing_file(tmp_path: Path) -> None:
    assert "gone.ifc" in refused(tmp_path / "gone.ifc")


@pytest.mark.parametrize("content", [b"", b"hello", b"PK\x03\x04 no zip", b"\x00\x01\x02"])
def test_not_an_ifc(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.ifc"
    path.write_bytes(content)
    refused(path)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_cut_off(tmp_path: Path, share: float) -> None:
    text = plate().text()
    path = tmp_path / "a.ifc"
    path.write_text(text[: int(len(text) * share)])
    assert "cut off" in refused(path)


def test_schema_without_support(tmp_path: Path) -> None:
    assert "a.ifc" in refused(plate(schema="IFC2X2_FINAL").write(tmp_path / "a.ifc"))


def test_no_length_unit_unless_the_project_states_one(tmp_path: Path) -> None:
    path = plate(None).write(tmp_path / "a.ifc")
    assert "length_unit" in refused(path)
    table = read_models([path], ReadSettings(model=Model(length_unit="cm"))).elements
    assert table["thickness"][0] == pytest.approx(300.0)  # 30 cm


def test_a_stated_unit_wins_over_the_setting(tmp_path: Path) -> None:
    path = plate("mm").write(tmp_path / "a.ifc")
    assert read_models([path], ReadSettings(model=Model(length_unit="m"))).elements["thickness"][0] == pytest.approx(30.0)


@pytest.mark.parametrize(("name", "factor", "mm"), [
    ("FOOT", 0.3048, 304.8), ("INCH", 0.0254, 25.4), ("'", 0.3048, 304.8),  # exact by definition (1959)
    ("US SURVEY FOOT", 1200 / 3937, 1200000 / 3937),  # 1200/3937 m by definition
])
def test_conversion_based_units(tmp_path: Path, name: str, factor: float, mm: float) -> None:
    model = Plain(None)
    metre = model.add("IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.)")
    measure = model.add(f"IFCMEASUREWITHUNIT(IFCLENGTHMEASURE({factor!r}),{metre})")
    dims = model.add("IFCDIMENSIONALEXPONENTS(1,0,0,0,0,0,0)")
    unit = model.add(FOOT.format(dims=dims, name=name.replace("'", "''"), factor=measure))
    units = model.add(f"IFCUNITASSIGNMENT(({unit}))")
    index = int(model.project[1:]) - 1
    model.lines[index] = model.lines[index].rsplit("$", 1)[0] + units + ")"
    model.element(material="Granite", sides=(1.0, 0.05, 0.5))
    table = read_models([model.write(tmp_path / "a.ifc")], ReadSettings()).elements
    assert table["thickness"][0] == pytest.approx(0.05 * mm, rel=1e-12)


def test_unknown_length_unit(tmp_path: Path) -> None:
    refused(plate("IFCCONTEXTDEPENDENTUNIT($,.LENGTHUNIT.,'ell')").write(tmp_path / "a.ifc"))


def test_two_models_of_one_base_name(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    first, second = plate().write(tmp_path / "a.ifc"), plate().write(tmp_path / "other" / "a.enriched.ifc")
    assert "'a'" in refused(first, second)


def test_zipped_model_reads_the_same(tmp_path: Path) -> None:
    path = plate().write(tmp_path / "a.ifc")
    packed = tmp_path / "b.ifczip"
    with zipfile.ZipFile(packed, "w") as archive:
        archive.write(path, "a.ifc")
    plain, zipped = (read_models([p], ReadSettings()).elements for p in (path, packed))
    assert plain["guid"].tolist() == zipped["guid"].tolist()
    assert zipped["model"].tolist() == ["b.ifc"]  # the author's base name, not the zip's ending
    assert plain["thickness"].tolist() == zipped["thickness"].tolist()


def test_zip_that_leads_out_of_itself(tmp_path: Path) -> None:
    packed = tmp_path / "b.ifczip"
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("../a.ifc", plate().text())
    refused(packed)


def test_query_that_cannot_be_read(tmp_path: Path) -> None:
    path = plate().write(tmp_path / "a.ifc")
    refused(path, settings=ReadSettings(selection=Selection(include=["IfcPlate, ((("])))
