"""What becomes a panel: by class, type, material and shape, on models that state one thing each."""

from __future__ import annotations

from typing import Any

import pytest

from bimcheck.read.settings import ReadSettings, Selection
from bimcheck.read.stage import read_models
from tests.read.plain import Plain


def verdict(model: Plain, name: str = "P", **settings: Any) -> tuple[str, str]:
    table = read_models([model.file()], ReadSettings(**settings)).elements
    row = table["name"].tolist().index(name)
    return table["status"][row], table["reason"][row]


def of_material(material: str, **settings: Any) -> tuple[str, str]:
    model = Plain()
    model.element(material=material)
    return verdict(model, **settings)


# The trade's everyday words in English, German, French, Italian, Spanish, Dutch, Portuguese; no source.
@pytest.mark.parametrize(("material", "reason"), [
    ("Toughened glass", "material:glass"), ("Einscheibensicherheitsglas", "material:glass"), ("Verre feuillete", "material:glass"),
    ("Vetro stratificato", "material:glass"), ("Vidrio templado", "material:glass"), ("Glas", "material:glass"), ("Vidro", "material:glass"),
    ("Aluminium sheet 3 mm", "material:metal"), ("Aluminum composite", "material:metal"), ("Stahlblech", "material:metal"), ("Acier inox", "material:metal"),
    ("Acciaio", "material:metal"), ("Acero inoxidable", "material:metal"), ("Titanzink", "material:metal"), ("Copper", "material:metal"),
    ("Limestone on aluminium honeycomb", "material:honeycomb"), ("Naturstein auf Wabenkern", "material:honeycomb"), ("Panneau nid d'abeille", "material:honeycomb"),
    ("Larch timber", "material:timber"), ("Holzschalung", "material:timber"), ("Bois", "material:timber"), ("Legno di larice", "material:timber"),
    ("Madera", "material:timber"),
])
def test_unsuited_materials_are_out_of_scope(material: str, reason: str) -> None:
    status, said = of_material(material)
    assert status == "out_of_scope" and said.startswith(reason)


@pytest.mark.parametrize("material", [
    "Granite, flamed", "Porcelain stoneware", "Feinsteinzeug", "Gres porcellanato", "Kalkstein", "Travertino", "Fibre cement board",
    "Faserzement", "High-pressure laminate", "Keramik", "Slate", "Sintered stone", "Porcelain, steel grey", "Glass fibre reinforced concrete",
    "Keramik Holzoptik", "Anything at all 42",
])
def test_suited_and_unknown_materials_stay_panels(material: str) -> None:
    assert of_material(material) == ("panel", "")


@pytest.mark.parametrize("material", ["Mineral wool", "Steinwolle", "Rigid insulation", "Vapour barrier", "Gypsum board"])
def test_layers_behind_the_skin_are_no_panels(material: str) -> None:
    status, reason = of_material(material)
    assert status == "out_of_scope" and reason.startswith("not-a-panel")


@pytest.mark.parametrize(("cls", "tail"), [
    ("IFCPLATE", ",$"), ("IFCPLATE", ",.CURTAIN_PANEL."), ("IFCCOVERING", ",.CLADDING."), ("IFCBUILDINGELEMENTPART", ",$"),
    ("IFCBUILDINGELEMENTPROXY", ",$"),
])
def test_classes_that_hold_panels(cls: str, tail: str) -> None:
    model = Plain()
    model.element(cls, tail=tail, material="Granite")
    assert verdict(model) == ("panel", "")


@pytest.mark.parametrize(("cls", "tail"), [
    ("IFCCOVERING", ",.CEILING."), ("IFCCOVERING", ",.INSULATION."), ("IFCCOVERING", ",.FLOORING."), ("IFCCOVERING", ",.MEMBRANE."),
    ("IFCBUILDINGELEMENTPART", ",.INSULATION."),
])
def test_types_that_are_no_panels(cls: str, tail: str) -> None:
    model = Plain()
    model.element(cls, tail=tail, material="Granite")
    status, reason = verdict(model)
    assert status == "out_of_scope" and reason.startswith("not-a-panel")


def test_an_undivided_curtain_wall_is_no_panel_but_its_parts_are() -> None:
    model = Plain()
    model.element("IFCCURTAINWALL", name="whole", sides=(27000.0, 50.0, 3000.0), material="Granite")
    assert verdict(model, "whole")[0] == "out_of_scope"
    model = Plain()
    whole = model.element("IFCCURTAINWALL", name="whole", sides=None)
    inner = model.element("IFCELEMENTASSEMBLY", name="unit", tail=",$,$", sides=None)
    model.whole(whole, [inner])
    model.whole(inner, [model.element(material="Granite"), model.element("IFCMEMBER", name="post", tail=",.MULLION.", sides=(50.0, 50.0, 3000.0))])
    assert verdict(model) == ("panel", "")
    for name in ("whole", "unit", "post"):
        assert verdict(model, name)[0] == "out_of_scope"


def test_a_plate_without_a_body_is_unreadable_and_reported() -> None:
    model = Plain()
    model.element(material="Granite", sides=None)
    result = read_models([model.file()], ReadSettings())
    assert (result.elements["status"][0], result.elements["reason"][0]) == ("unreadable", "no-geometry")
    assert [i.rule for i in result.issues if i.panel == 0] == ["no-geometry"]


def test_a_globalid_held_three_times_across_two_files_gives_two_issues() -> None:
    files = []
    for count in (2, 1):
        model = Plain()
        for _ in range(count):
            model.element(material="Granite", guid="3lBZ6eOhC2FrFXd8HtXQ2I")
        files.append(model.file())
    found = [i for i in read_models(files, ReadSettings()).issues if i.rule == "duplicate-guid"]
    assert [i.panel for i in found] == [1, 2]
    assert {i.other_guid for i in found} == {"3lBZ6eOhC2FrFXd8HtXQ2I"}


def test_queries_of_the_project_file_take_out_and_let_in() -> None:
    model = Plain()
    model.element(name="P", material="Granite")
    model.element(name="Q", material="Granite")
    model.element("IFCWALL", name="W", material="Granite", tail=",$")
    selection = Selection(exclude=["IfcPlate, Name=Q"], include=["IfcWall"])
    assert verdict(model, "P", selection=selection) == ("panel", "")
    assert verdict(model, "Q", selection=selection)[0] == "out_of_scope"
    assert verdict(model, "W", selection=selection) == ("panel", "")


def test_material_of_layers_and_constituents() -> None:
    """Of a build-up the panel is known by its thickest solid layer, not by the air or insulation behind it."""
    model = Plain()
    made = model.element()
    stone, wool = model.add("IFCMATERIAL('Granite',$,$)"), model.add("IFCMATERIAL('Limestone',$,$)")
    thin, thick = model.add(f"IFCMATERIALLAYER({stone},30.,$,$,$,$,$)"), model.add(f"IFCMATERIALLAYER({wool},5.,$,$,$,$,$)")
    layers = model.add(f"IFCMATERIALLAYERSET(({thick},{thin}),$,$)")
    model.add(f"IFCRELASSOCIATESMATERIAL('{model.guid()}',$,$,$,({made}),{layers})")
    assert read_models([model.file()], ReadSettings()).elements["material_name"].tolist() == ["Granite"]


@pytest.mark.parametrize("unit", ["mm", "cm", "m"])
def test_the_same_plate_in_other_units(unit: str) -> None:
    scale = {"mm": 1.0, "cm": 0.1, "m": 0.001}[unit]
    model = Plain(unit)
    model.element(material="Granite", sides=(1000.0 * scale, 30.0 * scale, 600.0 * scale))
    table = read_models([model.file()], ReadSettings()).elements
    assert table["thickness"][0] == pytest.approx(30.0, rel=1e-12)
    assert table["status"].tolist() == ["panel"]


@pytest.mark.parametrize(("names", "ground"), [
    (["-01 Basement", "00 Ground floor", "01 Level 1"], 1), (["UG", "EG", "OG1"], 1), (["Lower ground floor", "Ground Floor", "First floor"], 1),
    (["Level 100", "Level 0", "Level 1"], 1), (["Sous-sol", "RDC", "R+1"], 1), (["Foundation", "GF", "1F"], 1),
])
def test_the_storey_called_ground_floor(names: list[str], ground: int) -> None:
    """Heights 0, 3 and 6 m; names as authors write them, no source."""
    model = Plain()
    for k, name in enumerate(names):
        point = model.add(f"IFCCARTESIANPOINT((0.,0.,{3000.0 * k}))")
        axes = model.add(f"IFCAXIS2PLACEMENT3D({point},$,$)")
        placement = model.add(f"IFCLOCALPLACEMENT($,{axes})")
        model.add(f"IFCBUILDINGSTOREY('{model.guid()}',$,'{name}',$,$,{placement},$,$,.ELEMENT.,0.)")
    model.element(material="Granite")
    assert read_models([model.file()], ReadSettings()).models[0].ground_storey == pytest.approx(3000.0 * ground)
