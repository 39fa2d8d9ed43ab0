"""The IDS file that comes with bimcheck accepts enriched models and refuses spoilt ones (ifctester as the judge)."""

from __future__ import annotations

from pathlib import Path

import ifcopenshell
import ifctester.ids
import pytest

import bimcheck.write
from tests.shared import shared_models
from tests.write.run_samples import enriched, model_tables, truth_tables

IDS = Path(bimcheck.write.__file__).parent / "data" / "enriched.ids"
CASES = ["c02_tower_brep", "c10a_messy", "c03_imperial_mapped"]  # IFC2X3, IFC4, IFC4X3


def _judged(text: str) -> dict[str, bool]:
    rules = ifctester.ids.open(str(IDS), validate=True)
    rules.validate(ifcopenshell.file.from_string(text))
    return {s.name: bool(s.status) for s in rules.specifications}


@pytest.mark.parametrize("case", CASES)
def test_enriched_models_pass(case: str) -> None:
    files, tables = truth_tables(shared_models("truth"), case)
    assert all(_judged(enriched(files[0].read_bytes(), tables).decode("latin-1")).values())


@pytest.mark.parametrize(("old", "new", "which"), [
    ("'Bimcheck_Run'", "'X'", "Run record"),
    ("IFCPROPERTYENUMERATEDVALUE('Result'", "IFCPROPERTYENUMERATEDVALUE('R'", "Panels have a result"),
    ("IFCPROPERTYSINGLEVALUE('Reason'", "IFCPROPERTYSINGLEVALUE('R'", "Elements left out have a reason"),
    ("IFCPROPERTYSINGLEVALUE('Suction'", "IFCPROPERTYSINGLEVALUE('S'", "Panels that were judged have their values"),
    ("IFCPROPERTYSINGLEVALUE('Utilisation',$,IFCREAL(0.", "IFCPROPERTYSINGLEVALUE('Utilisation',$,IFCREAL(1.",
     "Panels that pass are held and used up to one"),
    ("'AnchorBoltLength'", "'A'", "Anchors belong to a panel and know their lengths"),
])
def test_a_spoilt_model_fails_where_it_is_spoilt(old: str, new: str, which: str) -> None:
    path = shared_models("real") / "scene_ifc4x3_tessellated.ifc"
    text = enriched(path.read_bytes(), model_tables(ifcopenshell.open(path))).decode("latin-1")
    assert old in text
    judged = _judged(text.replace(old, new))
    assert [name for name, passed in judged.items() if not passed] == [which]


def test_a_model_without_ours_fails() -> None:
    path = shared_models("real") / "scene_ifc4x3_tessellated.ifc"
    assert not _judged(path.read_text("latin-1"))["Panels have a result"]
