"""Models as tables that do not depend on which way a face was read."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.read import Model, ReadResult, ReadSettings, read_models
from bimcheck.read.polygons import ring_area, split
from tests.shared import SHARED

UNIT_STATED = ReadSettings(model=Model(length_unit="mm"))
TRUTH = SHARED / "models" / "truth"
CASES = sorted(p.stem for p in TRUTH.glob("*.json")) if TRUTH.exists() else []


def case(name: str) -> tuple[ReadResult, list[dict[str, str]], dict[str, Any]]:
    """The model of a case as read, its rows of truth, and what its json says."""
    about = json.loads((TRUTH / f"{name}.json").read_text(encoding="utf-8"))
    with (TRUTH / f"{name}.truth.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return read_models([TRUTH / f for f in about["files"]], UNIT_STATED), rows, about


def by_number(table: Table) -> dict[tuple[str, int], int]:
    return {(m, int(s)): i for i, (m, s) in enumerate(zip(table["model"], table["step_id"], strict=True))}


def net_area(outline: np.ndarray) -> float:
    """Outline less cut-outs, mm2."""
    rings = split(outline)
    return abs(ring_area(rings[0])) - sum(abs(ring_area(r)) for r in rings[1:])


def extents(table: Table, row: int) -> tuple[float, float]:
    """Along the horizontal of the plane and along its steepest line; of a level plane along the axes as read."""
    n, flat = table["raw_n"][row], table["raw_outline"][row]
    points = flat[:, :1] * table["raw_u"][row] + flat[:, 1:2] * table["raw_v"][row]
    u = np.cross([0.0, 0.0, 1.0], n)
    u = table["raw_u"][row] if np.linalg.norm(u) < 1e-6 else u / np.linalg.norm(u)
    return float(np.ptp(points @ u)), float(np.ptp(points @ np.cross(n, u)))


def shape_facts(table: Table) -> dict[str, tuple[float, ...]]:
    """By GlobalId what moving, turning and mirroring a model leave as they are: sides, thickness, area."""
    out = {}
    for row in np.flatnonzero(table["status"] == "panel").tolist():
        sides = sorted(extents(table, row))
        out[table["guid"][row]] = (*sides, float(table["thickness"][row]), net_area(table["raw_outline"][row]) / 1000.0)
    return out


def write_model(path: Path, body: str, unit: str = "MILLIMETRE") -> Path:
    """A model of one plate; `body` is STEP text from #100 on that ends with the shape at #199 (IFC4)."""
    prefix = {"MILLIMETRE": ".MILLI.", "METRE": "$"}.get(unit, "")
    units = f"#2=IFCSIUNIT(*,.LENGTHUNIT.,{prefix},.METRE.);\n#3=IFCUNITASSIGNMENT((#2));" if prefix else "#3=$"
    assigned = "#3" if prefix else "$"
    path.write_text(
        "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n"
        f"#1=IFCPROJECT('0000000000000000000001',$,'p',$,$,$,$,(#9),{assigned});\n{units if prefix else ''}\n"
        "#5=IFCCARTESIANPOINT((0.,0.,0.));\n#6=IFCAXIS2PLACEMENT3D(#5,$,$);\n#7=IFCLOCALPLACEMENT($,#6);\n"
        "#9=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-05,#6,$);\n"
        f"{body}\n"
        "#200=IFCPLATE('0000000000000000000002',$,'plate',$,$,#7,#199,$,.CURTAIN_PANEL.);\nENDSEC;\nEND-ISO-10303-21;\n", encoding="utf-8")
    return path


def solid(item: str, kind: str = "SweptSolid") -> str:
    """The shape of one representation item, whose lines end with number 190."""
    return f"{item}\n#198=IFCSHAPEREPRESENTATION(#9,'Body','{kind}',(#190));\n#199=IFCPRODUCTDEFINITIONSHAPE($,$,(#198));"
