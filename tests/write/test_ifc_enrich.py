"""Enriching models of every schema: the author's bytes, our values and placements, and what strip leaves."""

from __future__ import annotations

import random
import re
from pathlib import Path

import ifcopenshell
import ifcopenshell.util.element
import ifcopenshell.util.placement
import ifcopenshell.util.unit
import numpy as np
import pytest

from bimcheck.write.step_scan import bounds
from bimcheck.write.strip import strip
from tests.shared import shared_models
from tests.write.run_samples import enriched, model_tables, plan, truth_tables

REAL = ["house_ifc4_mm", "plates_mapped_metre", "precast_plate_utm_mm", "rainscreen_detail_ifc2x3_foot",
        "rainscreen_detail_ifc4_metre", "scene_ifc4x3_tessellated", "steel_plates_fasteners_inch"]
# turned, mirrored and mapped bodies; georeferenced; feet; metres in IFC2X3; duplicated GlobalIds; no unit; federated
TRUTH = ["c02_tower_brep", "c03_imperial_mapped", "c04a_mapconversion", "c04b_large_coords", "c08_mirrored_nested",
         "c10a_messy", "c10b_no_units", "c12_curved_inclined_soffit", "c13_federated"]


def _real(name: str) -> tuple[bytes, ifcopenshell.file]:
    path = shared_models("real") / f"{name}.ifc"
    return path.read_bytes(), ifcopenshell.open(path)


def _unit(case: str) -> str:
    return "mm" if case == "c10b_no_units" else ""  # that file states none; the project file does


@pytest.mark.parametrize("name", REAL)
def test_the_original_is_prefix_and_suffix_after_three_runs(name: str) -> None:
    data, model = _real(name)
    tables, end = model_tables(model), bounds(data).end
    runs = [enriched(data, tables)]
    for _ in range(2):
        back = strip(runs[-1])
        assert back.exact and back.data == data
        runs.append(enriched(back.data, tables))
    assert runs[0] == runs[1] == runs[2]
    assert runs[0][:end] == data[:end] and runs[0].endswith(data[end:])


@pytest.mark.parametrize("name", REAL)
def test_the_record_comes_first_and_states_its_range(name: str) -> None:
    data, model = _real(name)
    out, end = enriched(data, model_tables(model)), bounds(data).end
    block = out[end : len(out) - (len(data) - end)]
    numbers = [int(n) for n in re.findall(rb"^#(\d+)=", block, re.M)]
    stated = re.search(rb"entities #(\d+) to #(\d+) added to the file with SHA-256", block)
    assert stated and [int(n) for n in stated.groups()] == [numbers[0], max(numbers)]
    assert sorted(numbers) == list(range(numbers[0], max(numbers) + 1))
    assert block.lstrip().startswith(b"#%d=IFCPROPERTYSET(" % numbers[0])


@pytest.mark.parametrize(("name", "shuffled"), [
    ("house_ifc4_mm", False), ("plates_mapped_metre", True), ("scene_ifc4x3_tessellated", True)])
def test_saved_by_another_program_ours_go_by_statement(name: str, shuffled: bool) -> None:
    """The other program: ifcopenshell's writer; or one that renumbers and reorders everything besides."""
    data, model = _real(name)
    what = plan(holes=True, templates=True, names={"Bimcheck_Wind": "House wind", "Bimcheck_Panel.Width": "House width"})
    saved = ifcopenshell.file.from_string(enriched(data, model_tables(model), what).decode("latin-1")).to_string()
    plain = model.to_string()
    if shuffled:
        saved = _renumbered(saved)
    back = strip(saved.encode())
    assert not back.exact and back.removed > 200
    if not shuffled:
        assert back.data.decode() == plain
    assert _content(back.data.decode()) == _content(plain)


def _renumbered(text: str) -> str:
    lines = text.splitlines()
    body = [i for i, line in enumerate(lines) if line.startswith("#")]
    numbers = [int(lines[i].split("=")[0][1:]) for i in body]
    new = dict(zip(numbers, random.Random(1).sample(numbers, len(numbers)), strict=True))
    texts = [re.sub(r"'[^']*'|#(\d+)", lambda m: f"#{new[int(m[1])]}" if m[1] else m[0], lines[i]) for i in body]
    random.Random(2).shuffle(texts)
    return "\n".join([*lines[: body[0]], *texts, *lines[body[-1] + 1 :], ""])


def _content(text: str) -> list[str]:
    """Statements without their numbers, sorted."""
    return sorted(re.sub(r"#\d+", "#", line) for line in text.splitlines() if line.startswith("#"))


@pytest.mark.parametrize("case", TRUTH)
def test_anchors_stand_where_the_tables_say(case: str) -> None:
    """World coordinates by ifcopenshell's own placement utility; panels turned, mirrored, mapped and far away."""
    files, tables = truth_tables(shared_models("truth"), case)
    panels, anchors = tables["panels"], tables["anchors"]
    mouth = np.stack([anchors[k] for k in ("wx", "wy", "wz")], axis=1).reshape(-1, 4, 3)
    found = 0
    for index, path in enumerate(files):
        model = ifcopenshell.file.from_string(enriched(path.read_bytes(), tables, plan(_unit(case)), index).decode("latin-1"))
        scale = 1.0 if _unit(case) else 1e3 * ifcopenshell.util.unit.calculate_unit_scale(model)
        rows = {int(s): r for r, s in enumerate(panels["step_id"]) if panels["model_index"][r] == index}
        for fastener in model.by_type("IfcMechanicalFastener"):
            row = rows[fastener.Decomposes[0].RelatingObject.id()]
            world = ifcopenshell.util.placement.get_local_placement(fastener.ObjectPlacement)
            assert np.abs(world[:3, 3] * scale - mouth[row, int(fastener.Name[1:]) - 1]).max() < 0.001
            assert np.allclose(world[:3, 2], -panels["n"][row], atol=1e-6), "z towards a viewer behind the panel"
            assert np.allclose(world[:3, 0], -panels["u"][row], atol=1e-6), "x to that viewer's right"
            found += 1
    assert found == anchors.n == 4 * panels.n


@pytest.mark.parametrize("case", TRUTH)
def test_everything_considered_has_its_status(case: str) -> None:
    files, tables = truth_tables(shared_models("truth"), case)
    elements = tables["elements"]
    for index, path in enumerate(files):
        model = ifcopenshell.file.from_string(enriched(path.read_bytes(), tables, plan(_unit(case)), index).decode("latin-1"))
        for row in np.flatnonzero(elements["model_index"] == index):
            sets = ifcopenshell.util.element.get_psets(model.by_id(int(elements["step_id"][row])))
            status = sets["Bimcheck_Status"]
            assert status["Status"] == [elements["status"][row]]
            assert status.get("Reason", "") == elements["reason"][row]
            assert ("Caution" in status) == ("Bimcheck_Wind" in sets) == (elements["status"][row] == "panel")


@pytest.mark.parametrize("name", REAL)
def test_values_read_back_the_same_in_every_unit(name: str) -> None:
    """Units by ifcopenshell's own table: millimetres, metres, feet, inches; force and pressure mostly unstated."""
    data, original = _real(name)
    tables = model_tables(original)
    panels = tables["panels"]
    model = ifcopenshell.file.from_string(enriched(data, tables).decode("latin-1"))
    for row, step in enumerate(panels["step_id"].tolist()):
        read = {(s, p): _si(model, prop) for s, p, prop in _properties(model.by_id(step))}
        for key, want in ((("Bimcheck_Panel", "Width"), panels["width"][row] / 1e3),
                          (("Bimcheck_Panel", "NetArea"), panels["net_area"][row] / 1e6),
                          (("Bimcheck_Panel", "Mass"), panels["mass"][row]),
                          (("Bimcheck_Wind", "Suction"), panels["w_suction"][row] * 1e6),
                          (("Bimcheck_Panel", "SelfWeight"), panels["W"][row]),
                          (("Bimcheck_Checks", "Utilisation"), panels["utilisation"][row])):
            assert read[key] == pytest.approx(want, rel=1e-8), key
        missing = not np.isfinite(panels["joint_left"][row])
        assert (("Bimcheck_Panel", "JointLeft") not in read) == missing, "what is not known is not written"


def _properties(element: ifcopenshell.entity_instance) -> list[tuple[str, str, ifcopenshell.entity_instance]]:
    return [(rel.RelatingPropertyDefinition.Name, prop.Name, prop)
            for rel in element.IsDefinedBy if rel.is_a("IfcRelDefinesByProperties")
            for prop in getattr(rel.RelatingPropertyDefinition, "HasProperties", ())]


def _si(model: ifcopenshell.file, prop: ifcopenshell.entity_instance) -> float | str | None:
    """A value in SI by the unit it carries, else by the project's unit of its measure."""
    if not prop.is_a("IfcPropertySingleValue") or prop.NominalValue is None:
        return None
    value, kind = prop.NominalValue.wrappedValue, prop.NominalValue.is_a()
    types = {"IfcPositiveLengthMeasure": "LENGTHUNIT", "IfcLengthMeasure": "LENGTHUNIT", "IfcAreaMeasure": "AREAUNIT",
             "IfcMassMeasure": "MASSUNIT", "IfcForceMeasure": "FORCEUNIT", "IfcPressureMeasure": "PRESSUREUNIT"}
    if kind not in types:
        return value
    unit = prop.Unit or ifcopenshell.util.unit.get_project_unit(model, types[kind])
    assert unit is not None, "a measure without any unit"
    if prop.Unit:
        assert prop[1].startswith("in ")
    return value * _size(unit)


def _size(unit: ifcopenshell.entity_instance) -> float:
    if unit.is_a("IfcConversionBasedUnit"):
        return unit.ConversionFactor.ValueComponent.wrappedValue * _size(unit.ConversionFactor.UnitComponent)
    size = ifcopenshell.util.unit.get_prefix_multiplier(unit.Prefix)
    return (size**2 if "SQUARE" in unit.Name else size) * (1e-3 if unit.Name == "GRAM" else 1.0)


@pytest.mark.parametrize(("settings", "fasteners", "shaped", "openings"), [
    ({"anchors": "none"}, 0, False, 0), ({"anchors": "parts"}, 100, False, 0), ({"anchors": "geometry"}, 100, True, 0),
    ({"holes": True}, 100, True, 100)])
def test_anchors_and_holes_by_setting(settings: dict, fasteners: int, shaped: bool, openings: int) -> None:
    data, original = _real("plates_mapped_metre")
    before = len(original.by_type("IfcOpeningElement"))
    model = ifcopenshell.file.from_string(enriched(data, model_tables(original), plan(**settings)).decode("latin-1"))
    ours = model.by_type("IfcMechanicalFastener")
    assert len(ours) == fasteners and all(bool(f.Representation) == shaped for f in ours)
    assert len(model.by_type("IfcOpeningElement")) - before == openings


def test_the_authors_fasteners_and_quantities_stay_alone() -> None:
    data, original = _real("steel_plates_fasteners_inch")
    theirs = {f.GlobalId for f in original.by_type("IfcMechanicalFastener")}
    assert len(theirs) == 196  # as its description says
    model = ifcopenshell.file.from_string(enriched(data, model_tables(original)).decode("latin-1"))
    assert theirs < {f.GlobalId for f in model.by_type("IfcMechanicalFastener")}
    kept = {f.GlobalId for f in ifcopenshell.file.from_string(
        strip(ifcopenshell.file.from_string(model.to_string()).to_string().encode()).data.decode("latin-1")
    ).by_type("IfcMechanicalFastener")}
    assert kept == theirs


def test_a_set_of_the_authors_under_our_name_stays_and_ours_steps_aside() -> None:
    data, original = _real("rainscreen_detail_ifc4_metre")
    tables = model_tables(original)
    panel = int(tables["panels"]["step_id"][0])
    theirs = (f"#900001=IFCPROPERTYSET('2O2Fr$t4X7Zf8NOew3FLOH',$,'bimcheck_wind',$,(#900002));\n"
              f"#900002=IFCPROPERTYSINGLEVALUE('A',$,IFCREAL(9.),$);\n"
              f"#900003=IFCRELDEFINESBYPROPERTIES('2O2Fr$t4X7Zf8NOew3FLOI',$,$,$,(#{panel}),#900001);\n").encode()
    end = bounds(data).end
    model = ifcopenshell.file.from_string(enriched(data[:end] + theirs + data[end:], tables).decode("latin-1"))
    names = [s for s, _, _ in _properties(model.by_id(panel))]
    assert {"bimcheck_wind", "Bimcheck_Wind_2"} <= set(names) and "Bimcheck_Wind" not in names


def test_the_authors_quantity_set_is_left_and_none_of_ours_added() -> None:
    path = shared_models("truth") / "c01_tower.ifc"
    _, tables = truth_tables(path.parent, "c01_tower")
    panel = int(tables["panels"]["step_id"][0])
    data, extra = path.read_bytes(), (
        f"#900001=IFCELEMENTQUANTITY('2O2Fr$t4X7Zf8NOew3FLOH',$,'Qto_PlateBaseQuantities',$,$,(#900002));\n"
        f"#900002=IFCQUANTITYLENGTH('Width',$,$,1.,$);\n"
        f"#900003=IFCRELDEFINESBYPROPERTIES('2O2Fr$t4X7Zf8NOew3FLOI',$,$,$,(#{panel}),#900001);\n").encode()
    end = bounds(data).end
    model = ifcopenshell.file.from_string(enriched(data[:end] + extra + data[end:], tables).decode("latin-1"))
    quantities = {int(s): ifcopenshell.util.element.get_psets(model.by_id(int(s)), qtos_only=True)
                  for s in tables["panels"]["step_id"]}
    assert quantities[panel]["Qto_PlateBaseQuantities"]["Width"] == 1.0
    other = int(tables["panels"]["step_id"][1])
    assert quantities[other]["Qto_PlateBaseQuantities"]["Width"] == tables["panels"]["thickness"][1]  # model in mm


@pytest.mark.parametrize("mark", ["it's", "back\\slash", "größe", "панель", "パネル 7", "\\X2\\0041\\X0\\"])
def test_texts_of_any_script_survive(mark: str) -> None:
    data, original = _real("scene_ifc4x3_tessellated")
    tables = model_tables(original)
    panels = tables["panels"]
    tables["panels"] = panels.with_columns(mark=np.full(panels.n, mark, object), item=np.full(panels.n, mark, object))
    model = ifcopenshell.file.from_string(enriched(data, tables).decode("ascii", "strict"))
    step = int(panels["step_id"][0])
    assert ifcopenshell.util.element.get_psets(model.by_id(step))["Bimcheck_Fabrication"]["Mark"] == mark
    assert {f.Tag for f in model.by_type("IfcMechanicalFastener")} == {f"{mark}-A{i}" for i in range(1, 5)}
    assert strip(model.to_string().encode()).data.decode() == original.to_string()


def test_supports_are_linked_by_the_anchors_that_hang_on_them() -> None:
    path = shared_models("truth") / "c01_tower.ifc"
    _, tables = truth_tables(path.parent, "c01_tower")
    rail = next(e for e in ifcopenshell.open(path).by_type("IfcElement")
                if e.id() not in set(tables["elements"]["step_id"].tolist()))
    tables["obstacles"] = tables["elements"].take(np.array([0])).with_columns(
        step_id=np.array([rail.id()]), guid=np.array([rail.GlobalId], object), model=np.array(["a.ifc"], object))
    tables["panels"] = tables["panels"].with_columns(model=np.full(tables["panels"].n, "a.ifc", object))
    tables["anchors"] = tables["anchors"].with_columns(support=np.where(tables["anchors"]["slot"] > 2, 0, -1))
    data = path.read_bytes()
    out = enriched(data, tables)
    links = ifcopenshell.file.from_string(out.decode("latin-1")).by_type("IfcRelConnectsWithRealizingElements")
    assert len(links) == tables["panels"].n
    assert all(x.RelatingElement.GlobalId == rail.GlobalId and sorted(f.Name for f in x.RealizingElements) == ["A3", "A4"]
               for x in links)
    assert strip(ifcopenshell.file.from_string(out.decode("latin-1")).to_string().encode()).data.decode() == \
        ifcopenshell.open(path).to_string()


def test_ids_follow_panel_and_slot_not_position(tmp_path: Path) -> None:
    data, original = _real("precast_plate_utm_mm")
    tables = model_tables(original)
    moved = tables | {"anchors": tables["anchors"].with_columns(wx=tables["anchors"]["wx"] + 7.0)}
    first, second = (re.findall(rb"IFCMECHANICALFASTENER\('([^']+)'", enriched(data, t)) for t in (tables, moved))
    assert first == second and len(set(first)) == 4


def test_anchors_written_by_parts_are_the_same_anchors(monkeypatch: pytest.MonkeyPatch) -> None:
    path = shared_models("truth") / "c01_tower.ifc"
    _, tables = truth_tables(path.parent, "c01_tower")
    data = path.read_bytes()

    def told(out: bytes) -> list[tuple[str, str, str, tuple[float, ...]]]:
        model = ifcopenshell.file.from_string(out.decode("latin-1"))
        return sorted((f.GlobalId, f.Decomposes[0].RelatingObject.GlobalId, ifcopenshell.util.element.get_type(f).GlobalId,
                       tuple(f.ObjectPlacement.RelativePlacement.Location[0])) for f in model.by_type("IfcMechanicalFastener"))

    whole = told(enriched(data, tables))
    monkeypatch.setattr("bimcheck.write.ifc_fasteners.AT_ONCE", 10)
    assert told(enriched(data, tables)) == whole and len(whole) == 4 * tables["panels"].n
