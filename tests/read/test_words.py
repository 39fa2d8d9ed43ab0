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


def test_any_layer_of_honeycomb_counts() -> None:
    assert unfit(Names("Limestone", ("Limestone", "Aluminium honeycomb")), OWN) == "honeycomb"
    assert unfit(Names("Limestone", ("Limestone", "Aluminium profile")), OWN) == ""


@pytest.mark.parametrize(("name", "kind"), [
    ("Rigid insulation", "insulation"), ("Mineralwolle", "insulation"), ("Laine de verre", "insulation"), ("Wärmedämmung", "insulation"),
    ("IMPERMEABLE WRB MEMBRANE", "membrane"), ("Dampfsperre", "membrane"), ("Gypsum Wall Board", "lining"), ("Mörtel", "lining"),
    ("Granite", ""), ("Fibre cement board", ""), ("Glasfaserbeton", ""), ("Painted aluminium", ""), ("Isola limestone", ""),
])
def test_layers_of_walls(name: str, kind: str) -> None:
    assert layer_kind(Names(name, (name,))) == kind


def test_own_words() -> None:
    assert unfit(Names("CT-77", ("CT-77",)), Recognition(metal=["ct-77"])) == "metal"


@pytest.mark.parametrize(("name", "globs", "match"), [
    ("Verre feuilleté", ("verre*",), True), ("Granite, flamed", ("*granite*",), True), ("Slate", ("granite*",), False), ("Slate", (), False)])
def test_matches_of_the_project_file(name: str, globs: tuple[str, ...], match: bool) -> None:
    assert matches(name, globs) is match
