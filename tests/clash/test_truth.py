"""Planted faults of buildings laid out in millimetres: all found, none invented, measured within 0.5 mm.

Expected values: the truth files, which come from the layout and never from the written model.
"""

from __future__ import annotations

import pytest

from bimcheck.clash import behind, cutouts, joints
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.clash.common import settings
from tests.relate.truthcase import load
from tests.shared import shared_models

CASES = ("c01_tower", "c03_imperial_mapped", "c04a_mapconversion", "c05_plan_shape", "c06b_reentrant_plan", "c07_shapes_cutouts",
         "c08_mirrored_nested", "c10a_messy", "c11_materials", "c12_curved_inclined_soffit", "c13_federated", "c14_tower_revB")
FIGURE = {"joint-width": "joint_mm", "panel-overlap": "overlap_mm", "cutout-near-edge": "distance_mm", "behind-panel": "gap_mm"}


@pytest.mark.parametrize("name", CASES)
def test_planted_faults(name: str) -> None:
    case = load(shared_models("truth"), name, bodies=name == "c13_federated")
    got = relate(case.elements, case.obstacles, case.site, Relate())
    tables = {"elements": got.elements, "joints": got.joints, "behind": got.behind, "obstacles": case.obstacles}
    at = settings(reading__behind_panel_mm=60.0 if name == "c13_federated" else 0.0, drilling__cutout_edge_mm=100.0)
    found = [i for find in (joints.find, behind.find, cutouts.find) for i in find(tables, at) if i.rule in FIGURE]
    guid = got.elements["guid"]
    have = {}
    for i in found:
        other = i.other_guid or (guid[i.other_panel] if i.other_panel >= 0 else "")
        have[(i.rule, *sorted(g for g in (guid[i.panel], other) if g))] = i.measured
    want = {(i["rule"], *sorted(i["guids"])): i[FIGURE[i["rule"]]] for i in case.facts["issues"] if i["rule"] in FIGURE}
    assert len(found) == len(have) == len(want)
    assert have == {k: pytest.approx(v, abs=0.5) for k, v in want.items()}
