"""Small runs made up for the tests of write-back: tables as the pipeline hands them over, on any model.

All values are invented; only frames and GlobalIds come from the models.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.util.placement
import ifcopenshell.util.unit
import numpy as np

from bimcheck.core.columns import Column
from bimcheck.core.tables import Table
from bimcheck.core.vocabulary import STAGE_COLUMNS
from bimcheck.write.ifc_enrich import Plan, author_of, enrich
from bimcheck.write.ifc_properties import Check
from bimcheck.write.ifc_run import Run
from bimcheck.write.ifc_settings import Ifc

RUN = Run("0.1.0", "0" * 64, "2020-01-01T00:00:00", {"Settings": "project.toml"})
RULE_COLUMNS = (
    Column("w_suction", "MPa", "net suction", "panels", file="w_suction_kPa", file_unit="kPa", measure="IfcPressureMeasure"),
    Column("w_pressure", "MPa", "net pressure", "panels", file="w_pressure_kPa", file_unit="kPa",
           measure="IfcPressureMeasure"),
    Column("zone", "text", "zone", "panels", measure="IfcLabel"), Column("w_basis", "text", "basis", "panels", measure="IfcLabel"),
    Column("W", "N", "self-weight", "panels", measure="IfcForceMeasure"),
    Column("mass", "kg", "mass", "panels", measure="IfcMassMeasure"),
)
CHECKS = (Check("u_edge", "edge-distance", "project data"), Check("u_bending", "bending", "EN 1990 6.4.3.2 (6.10)"))
PLAN = Plan([c for c in STAGE_COLUMNS if c.table == "panels"] + list(RULE_COLUMNS), CHECKS, Ifc(), RUN)


def plan(length_unit: str = "", **settings: Any) -> Plan:
    return replace(PLAN, settings=Ifc(**settings), length_unit=length_unit)


def tables_of(rows: list[dict[str, Any]], frames: np.ndarray) -> dict[str, Table]:
    """rows: guid, step_id, model_index, ifc_class, status, reason, width, height, thickness, mark; frames: (n, 4, 3)
    lower-left corner, u, v, n of each row (mm, world)."""
    elements = Table("elements", len(rows), {k: np.array([r[k] for r in rows], object) for k in rows[0]} | {
        k: np.array([r[k] for r in rows], kind) for k, kind in (
            ("step_id", np.int64), ("model_index", np.int64), ("width", float), ("height", float), ("thickness", float))})
    kept = np.flatnonzero(elements["status"] == "panel")
    panels = _with_results(elements.take(kept)).with_columns(
        origin=frames[kept, 0], u=frames[kept, 1], v=frames[kept, 2], n=frames[kept, 3])
    return {"elements": elements, "panels": panels, "anchors": _anchors(panels)}


def _with_results(panels: Table) -> Table:
    n = panels.n
    step = np.arange(n)
    return panels.with_columns(
        net_area=panels["width"] * panels["height"], mass=panels["width"] * panels["height"] * 2.7e-5, z=1000.0 + 100.0 * step,
        joint_left=np.where(step % 3, 8.0, np.nan), joint_right=np.where(step % 5, 8.0, -2.5),
        normal_x=panels["width"] * 0.0, zone=np.where(step % 2, "A", "B").astype(object),
        w_basis=np.full(n, "characteristic", object), w_suction=-1.25e-3 - 1e-5 * (step % 7), w_pressure=np.full(n, 0.8e-3),
        W=panels["width"] * 0.1, item=np.full(n, "demo 11x15", object), embedment=np.full(n, 15.0),
        hole_depth=np.full(n, 15.5), hole_diameter=np.full(n, 11.0), undercut_radius=np.full(n, 6.75),
        bolt_length=np.where(step % 4, 25.0, 28.0), bolt_diameter=np.full(n, 6.0),
        n_anchors_selected=np.full(n, 4), pattern_selected=np.full(n, "2x2", object),
        u_edge=np.full(n, 0.25), u_bending=0.5 + 0.01 * (step % 45), utilisation=0.5 + 0.01 * (step % 45),
        governing_check=np.full(n, "bending", object), result=np.where(step % 9, "pass", "not_checked").astype(object),
        governing_anchor=np.full(n, "", object),
    )


def _anchors(panels: Table) -> Table:
    """Four anchors a panel, 100 mm inside its corners, on its rear face."""
    inset = np.minimum(100.0, 0.25 * np.minimum(panels["width"], panels["height"]))
    x = np.stack([inset, panels["width"] - inset] * 2, axis=1)
    y = np.stack([inset, inset, panels["height"] - inset, panels["height"] - inset], axis=1)
    mouth = (panels["origin"][:, None] + x[..., None] * panels["u"][:, None] + y[..., None] * panels["v"][:, None]
             - (panels["thickness"][:, None] * panels["n"])[:, None]).reshape(-1, 3)
    return Table("anchors", len(mouth), {
        "panel": np.repeat(np.arange(panels.n), 4), "slot": np.tile([1, 2, 3, 4], panels.n),
        "wx": mouth[:, 0], "wy": mouth[:, 1], "wz": mouth[:, 2]})


def truth_tables(folder: Path, case: str) -> tuple[list[Path], dict[str, Table]]:
    """The models of a case with known truth, and a run on them."""
    with open(folder / f"{case}.truth.csv", newline="", encoding="utf-8") as file:
        truth = list(csv.DictReader(file))
    files = sorted({t["file"] for t in truth})
    rows = [dict(guid=t["guid"], step_id=int(t["step_id"]), model_index=files.index(t["file"]), ifc_class=t["ifc_class"],
                 status=t["kind"], reason=t["reason"], mark=t["name"], material=t["material"], storey=t["storey"],
                 width=_number(t["width_mm"]), height=_number(t["height_mm"]), thickness=_number(t["thickness_mm"]))
            for t in truth]
    return [folder / f for f in files], tables_of(rows, np.array([_frame(t) for t in truth]))


def _number(text: str) -> float:
    return float(text) if text else float("nan")


def _frame(row: dict[str, str]) -> np.ndarray:
    n = np.array([_number(row[k]) for k in ("nx", "ny", "nz")])
    if not np.isfinite(n).all():
        return np.zeros((4, 3))
    u = np.cross([0, 0, 1.0], n) if abs(n[2]) < 0.99 else np.array([1.0, 0, 0])
    u = u / np.linalg.norm(u)
    v = np.cross(n, u)
    centre = np.array([_number(row[k]) * 1e3 for k in ("cx_m", "cy_m", "cz_m")])
    return np.array([centre - _number(row["width_mm"]) / 2 * u - _number(row["height_mm"]) / 2 * v, u, v, n])


def model_tables(model: ifcopenshell.file, most: int = 30, unit_mm: float = 0.0) -> dict[str, Table]:
    """A made-up run on the elements of any model: panels of 1000 x 500 x 20 in the axes of their placements."""
    unit = unit_mm or 1e3 * ifcopenshell.util.unit.calculate_unit_scale(model)
    elements = [e for e in model.by_type("IfcElement") if e.ObjectPlacement and not e.is_a("IfcFeatureElement")][: most]
    rows = [dict(guid=e.GlobalId, step_id=e.id(), model_index=0, ifc_class=e.is_a(), mark=e.Tag or "", reason="", material="x",
                 status="panel" if (i + 1) % 6 else "out_of_scope", storey="s", width=1000.0, height=500.0, thickness=20.0)
            for i, e in enumerate(elements)]
    for row in rows:
        row["reason"] = "" if row["status"] == "panel" else "material:glass"
    matrices = [ifcopenshell.util.placement.get_local_placement(e.ObjectPlacement) for e in elements]
    frames = np.array([[m[:3, 3] * unit, m[:3, 0], m[:3, 1], m[:3, 2]] for m in matrices])
    return tables_of(rows, frames)


def enriched(data: bytes, tables: dict[str, Table], what: Plan = PLAN, index: int = 0) -> bytes:
    model = ifcopenshell.file.from_string(data.decode("latin-1"))
    author = author_of(model, data, tables["elements"], index, what.settings, what.length_unit)
    return b"".join(enrich(data, author, tables, index, what).parts)
