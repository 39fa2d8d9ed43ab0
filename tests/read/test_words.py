"""What names mean.  Expected: the trade's own words; the kinds are those a rear undercut anchor does not suit."""

from __future__ import annotations

import pytest

from bimcheck.read import Recognition
from bimcheck.read.materials import Names, layer_kind, matches, unfit

OWN = Recognition()


@pytest.mark.parametrize(("name", "kind"), [
    ("Laminated glass", "glass"), ("Toughened glass ESG-H", "glass"), ("Verre feuilleté", "glass"), ("Isolierglas", "glass"),
    ("Vidrio templado", "glass"), ("Vetro stratificato", "glass"), ("Cristal", "glass"), ("White glass", "glass"), ("szkło hartowane", "glass"),
    ("Aluminium composite material", "metal"), ("Alublech 3 mm", "metal"), ("Edelstahl 1.4404", "metal"), ("Acier galvanisé", "metal"),
    ("Zinkblech", "metal"), ("Tôle perforée", "metal"), ("Aluminium, slate grey", "metal"), ("Aluminium white", "metal"), ("Copper", "metal"),
    ("Limestone veneer on aluminium honeycomb", "honeycomb"), ("Naturstein auf Aluminiumwabe", "honeycomb"), ("Pierre sur nid d'abeille", "honeycomb"),
    ("Timber cladding, larch", "timber"), ("Lärchenholz", "timber"), ("Bardage bois", "timber"), ("Madera de cedro", "timber"), ("Plywood 18", "timber"),
    ("Granite, flamed", ""), ("Steel grey granite", ""), ("Porcelain, timber look", ""), ("Feinsteinzeug Holzoptik", ""), ("Sandstone", ""),
    ("Faserzement", ""), ("Glasfaserbeton", ""), ("Glass fibre reinforced concrete", ""), ("High-pressure laminate, oak decor", ""),
    ("grès cérame", ""), ("Naturstein Muschelkalk", ""), ("CT-01", ""), ("Composite", ""), ("Terracotta, glazed", ""), ("Ceramic with glass mesh", ""),
])
def test_unfit_materials(name: str, kind: str) -> None:
    assert unfit(Names(name, (name,)), OWN) == kind


@pytest.mark.parametrize(("name", "kind"), [
    # Of an English, German or Dutch compound the last word is the thing: frit and print adorn a glass.
    ("Ceramic frit glass", "glass"), ("Ceramic printed glass 8 mm", "glass"), ("Quartz glass panel", "glass"), ("Marmorglas", "glass"),
    ("Ceramic, glass", ""), ("Stone and glass", ""), ("Beton mit Glas", ""), ("Concrete with glass aggregate", ""),
    # A thin layer bonded to a sheet: the anchor would sit in the sheet or go through the layer.
    ("Limestone on aluminium", "metal"), ("Limestone on aluminium (honeycomb) ", "honeycomb"), ("Keramik auf Aluminiumverbund", "metal"),
    ("Granite back-bonded to steel sheet", "metal"), ("Pierre sur verre", "glass"), ("Stone veneer laminated to glass", "glass"),
    ("Slate on plywood", "timber"),
    # A substructure is no sheet.
    ("Granite on aluminium rails", ""), ("Naturstein auf Aluminium-Unterkonstruktion", ""), ("Terracotta on steel frame", ""),
    ("Granite on steel anchors", ""), ("Naturstein auf Aluprofilen", ""), ("Porcelain on glass fibre mesh", ""),
    # Cement-bonded wood boards are cement boards.
    ("wood cement board", ""), ("Wood-cement board", ""), ("Holzzementplatte", ""), ("Zementgebundene Holzspanplatte", ""), ("Panneau bois-ciment", ""),
    ("Cement bonded wood fibre board", ""), ("Wood board", "timber"),
])
def test_what_the_whole_name_says(name: str, kind: str) -> None:
    """Common practice, no source: how the trade names layered and compound materials."""
    assert unfit(Names(name, (name,)), OWN) == kind


def test_any_layer_of_honeycomb_counts() -> None:
    assert unfit(Names("Limestone", ("Limestone", "Aluminium honeycomb")), OWN) == "honeycomb"
    assert unfit(Names("Limestone", ("Limestone", "Aluminium profile")), OWN) == ""


@pytest.mark.parametrize(("name", "kind"), [
    ("Rigid insulation", "insulation"), ("Mineralwolle", "insulation"), ("Laine de verre", "insulation"), ("Wärmedämmung", "insulation"),
    ("IMPERMEABLE WRB MEMBRANE", "membrane"), ("Dampfsperre", "membrane"), ("Gypsum Wall Board", "lining"), ("Mörtel", "lining"),
    ("Granite", ""), ("Fibre cement board", ""), ("Glasfaserbeton", ""), ("Wood cement board", ""), ("Wood wool cement board", "insulation"), ("Painted aluminium", ""), ("Isola limestone", ""),
])
def test_layers_of_walls(name: str, kind: str) -> None:
    assert layer_kind(Names(name, (name,))) == kind


def test_own_words() -> None:
    assert unfit(Names("CT-77", ("CT-77",)), Recognition(metal=["ct-77"])) == "metal"


@pytest.mark.parametrize(("name", "globs", "match"), [
    ("Verre feuilleté", ("verre*",), True), ("Granite, flamed", ("*granite*",), True), ("Slate", ("granite*",), False), ("Slate", (), False)])
def test_matches_of_the_project_file(name: str, globs: tuple[str, ...], match: bool) -> None:
    assert matches(name, globs) is match
