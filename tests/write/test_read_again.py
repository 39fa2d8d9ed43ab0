"""Another reader, the engine of web viewers, finds our anchors where the tables put them.

Needs Node and the package web-ifc (npm install web-ifc) in the folder that BIMCHECK_TEST_WEB_IFC names.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
from pathlib import Path
from typing import Any

import ifcopenshell
import numpy as np
import pytest

from bimcheck.core.ids import derived
from tests.shared import shared_models
from tests.write.run_samples import enriched, truth_tables

SCRIPT = Path(__file__).with_name("read_again.mjs")
CASES = ["c01_tower", "c02_tower_brep", "c03_imperial_mapped", "c04a_mapconversion", "c08_mirrored_nested",
         "c12_curved_inclined_soffit"]


def _read(path: Path) -> dict[str, Any]:
    folder = os.environ.get("BIMCHECK_TEST_WEB_IFC", "")
    if not shutil.which("node") or not Path(folder, "web-ifc-api-node.js").exists():
        pytest.skip("needs node, and web-ifc in the folder named by BIMCHECK_TEST_WEB_IFC")
    done = subprocess.run(["node", str(SCRIPT), folder, str(path)], capture_output=True, text=True, check=True, timeout=120)
    return json.loads(next(line for line in done.stdout.splitlines() if line.startswith("@@"))[2:])


@pytest.mark.parametrize("case", CASES)
def test_a_hundred_anchors_within_a_tenth_of_a_millimetre(case: str, tmp_path: Path) -> None:
    """The drawn anchor lies round the axis of the hole, from the embedment's depth to the bolt's end: the mouth follows.

    The mesh is in single precision: about 1 mm in 10 km, allowed for beside the tenth.
    """
    files, tables = truth_tables(shared_models("truth"), case)
    panels, anchors = tables["panels"], tables["anchors"]
    path = tmp_path / "enriched.ifc"
    path.write_bytes(enriched(files[0].read_bytes(), tables))
    read = _read(path)
    assert read["counts"]["fasteners"] == len(read["fasteners"]) == anchors.n
    model = ifcopenshell.open(path)
    assert read["counts"]["sets"] == len(model.by_type("IfcPropertySet"))
    assert read["counts"]["quantities"] == len(model.by_type("IfcElementQuantity"))
    assert read["counts"]["aggregates"] == len(model.by_type("IfcRelAggregates"))
    for row in random.Random(1).sample(range(anchors.n), min(100, anchors.n)):
        panel = int(anchors["panel"][row])
        guid = derived(panels["guid"][panel], "anchor", f"A{anchors['slot'][row]}")
        corners, n = np.array(read["fasteners"][guid]) * 1e3, panels["n"][panel]
        depth = (corners @ n).max() - panels["embedment"][panel]  # the head's far end lies the embedment in front of it
        middle = corners.mean(axis=0)  # of regular polygons: on the axis
        mouth = middle + (depth - middle @ n) * n
        want = np.array([anchors[k][row] for k in ("wx", "wy", "wz")])
        assert np.abs(mouth - want).max() < 0.1 + 2 * np.abs(want).max() * 2.0**-23, guid
