"""buildingSMART's validation rules restated for what we add (rule names as in its public rule repository), and the EXPRESS
rules of the schemas by ifcopenshell.validate."""

from __future__ import annotations

import re
from collections import Counter

import ifcopenshell
import ifcopenshell.guid
import ifcopenshell.util.pset
import ifcopenshell.validate
import pytest

from bimcheck.write.step_scan import bounds, largest_number
from tests.shared import shared_models
from tests.write.run_samples import enriched, model_tables, plan, truth_tables

CASES = {"IFC2X3": "c02_tower_brep", "IFC4": "c04b_large_coords", "IFC4X3": "c03_imperial_mapped"}
SETTINGS = {"usual": plan(), "all": plan(holes=True, templates=True, names={"Bimcheck_Wind": "House wind"})}


class Enriched:
    def __init__(self, schema: str, settings: str) -> None:
        files, tables = truth_tables(shared_models("truth"), CASES[schema])
        data = files[0].read_bytes()
        self.model = ifcopenshell.file.from_string(enriched(data, tables, SETTINGS[settings]).decode("latin-1"))
        first = largest_number(data, bounds(data)) + 1
        self.ours = [e for e in self.model if e.id() >= first]
        self.schema = schema
        self.standard = ifcopenshell.util.pset.get_template(schema)

    def of(self, kind: str) -> list[ifcopenshell.entity_instance]:
        return [e for e in self.ours if e.is_a(kind)]


@pytest.fixture(scope="module", params=[(s, k) for s in CASES for k in SETTINGS], ids="-".join)
def out(request: pytest.FixtureRequest) -> Enriched:
    return Enriched(*request.param)


def _standard(out: Enriched, name: str) -> ifcopenshell.entity_instance | None:
    return out.standard.get_by_name(name)


def test_pse001_standard_sets_are_as_the_standard_defines_them(out: Enriched) -> None:
    for found in (s for s in out.of("IfcPropertySet") if s.Name.startswith("Pset_")):
        template = _standard(out, found.Name)
        assert template is not None, found.Name
        allowed = {t.Name: t.PrimaryMeasureType for t in template.HasPropertyTemplates}
        assert {p.Name: p.NominalValue.is_a() for p in found.HasProperties}.items() <= allowed.items()


def test_pse002_own_sets_do_not_look_like_standard_ones(out: Enriched) -> None:
    own = [name for name in {s.Name for s in out.of("IfcPropertySet")} if not _standard(out, name)]
    assert own and not any(re.match("(?i)pset|qto", name) for name in own)


def test_qty001_standard_quantities(out: Enriched) -> None:
    sets = out.of("IfcElementQuantity")
    assert sets and all(s.MethodOfMeasurement == "BaseQuantities" for s in sets)
    for found in sets:
        if out.schema == "IFC2X3":
            assert found.Name == "BaseQuantities"
            continue
        template = _standard(out, found.Name)
        kinds = {"Q_LENGTH": "IfcQuantityLength", "Q_AREA": "IfcQuantityArea", "Q_WEIGHT": "IfcQuantityWeight"}
        allowed = {t.Name: kinds.get(t.TemplateType) for t in template.HasPropertyTemplates}
        assert {q.Name: q.is_a() for q in found.Quantities}.items() <= allowed.items()
        element = out.model.get_inverse(found)
        assert all(f"Ifc{template.Name[4:-14]}" in (o.is_a() for o in rel.RelatedObjects) for rel in element)


def test_ojp001_parts_are_placed_relative_to_their_whole(out: Enriched) -> None:
    for rel in out.of("IfcRelAggregates"):
        for part in rel.RelatedObjects:
            assert part.ObjectPlacement.is_a("IfcLocalPlacement")
            assert part.ObjectPlacement.PlacementRelTo == rel.RelatingObject.ObjectPlacement


def test_ojt001_the_predefined_type_stands_on_the_type_alone(out: Enriched) -> None:
    for fastener in out.of("IfcMechanicalFastener"):
        kinds = [r.RelatingType for r in out.model.get_inverse(fastener) if r.is_a("IfcRelDefinesByType")]
        assert len(kinds) == 1
        if out.schema != "IFC2X3":
            assert fastener.PredefinedType is None and kinds[0].PredefinedType == "ANCHORBOLT"
            assert fastener.NominalDiameter is None and kinds[0].NominalDiameter > 0
        else:
            assert fastener.NominalDiameter > 0 and fastener.NominalLength > 0


def test_sps003_sps005_sps007_parts_have_one_whole_and_no_storey(out: Enriched) -> None:
    fasteners = out.of("IfcMechanicalFastener")
    assert fasteners
    for fastener in fasteners:
        assert len(fastener.Decomposes) == 1 and not fastener.ContainedInStructure
        assert not getattr(fastener, "Nests", ())
    assert not any(o.ContainedInStructure for o in out.of("IfcOpeningElement"))


def test_pjs003_global_ids_are_valid_and_unique(out: Enriched) -> None:
    ids = [e.GlobalId for e in out.of("IfcRoot")]
    assert all(re.fullmatch(r"[0-3][0-9A-Za-z_$]{21}", g) for g in ids)
    assert len(set(ids)) == len(ids)
    theirs = {e.GlobalId for e in out.model.by_type("IfcRoot")} - set(ids)
    assert len(theirs) + len(ids) <= len(out.model.by_type("IfcRoot"))


def test_ifc105_no_helper_of_ours_is_left_unused(out: Enriched) -> None:
    assert not [e for e in out.ours if not e.is_a("IfcRoot") and not out.model.get_inverse(e)]


def test_a_set_describes_one_element_and_no_element_has_two_of_one_name(out: Enriched) -> None:
    links = out.of("IfcRelDefinesByProperties")
    pairs = Counter((o.id(), r.RelatingPropertyDefinition.Name) for r in links for o in r.RelatedObjects)
    assert set(pairs.values()) == {1}
    assert len({r.RelatingPropertyDefinition.id() for r in links}) == len(links)


def _messages(text: str) -> Counter[tuple[str, str]]:
    """(rule, what it says without the entity it is on)."""
    logger = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(ifcopenshell.file.from_string(text), logger, express_rules=True)
    return Counter((str(s.get("attribute")), re.sub(r"0x[0-9a-f]+", "", s["message"])[:200]) for s in logger.statements)


@pytest.mark.parametrize("name", ["precast_plate_utm_mm", "rainscreen_detail_ifc2x3_foot", "scene_ifc4x3_tessellated"])
def test_validation_says_nothing_new_of_real_models(name: str) -> None:
    path = shared_models("real") / f"{name}.ifc"
    before = _messages(path.read_text("latin-1"))
    after = _messages(enriched(path.read_bytes(), model_tables(ifcopenshell.open(path), 8), SETTINGS["all"]).decode("latin-1"))
    assert after - before == Counter()


def test_validation_says_nothing_new_of_ifc4() -> None:
    files, tables = truth_tables(shared_models("truth"), "c13_federated")
    for index, path in enumerate(files[:1]):
        text = enriched(path.read_bytes(), tables, SETTINGS["all"], index).decode("latin-1")
        assert _messages(text) - _messages(path.read_text("latin-1")) == Counter()
