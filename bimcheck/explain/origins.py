"""Where a number comes from that no rule computes: the model, a material or item row, the plate's solution, a setting."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic.fields import FieldInfo

from bimcheck.core.settings import Section, facts
from bimcheck.hardware.settings import Item
from bimcheck.materials.settings import Material
from bimcheck.project import Project

MATERIAL = {  # column of panels -> key of [materials.NAME]
    "density": "density_kg_m3", "E_mod": "E_GPa", "nu": "nu", "alpha_T": "alpha_per_K", "eps_moisture": "moisture_strain",
    "t_min": "thickness_tolerance", "t_max": "thickness_tolerance", "f_k": "flexural_MPa", "eta_flex": "conditioned",
    "gamma_flex": "flexural_factor", "gamma_anchor": "anchor_factor", "k_hole": "k_hole", "face": "face", "t_code": "minimum_thickness_mm",
}
ITEM = {  # column of panels -> key of [hardware.NAME]
    "embedment": "embedment_mm", "hole_diameter": "hole_diameter_mm", "undercut_radius": "undercut_radius_mm", "edge_min_item": "edge_mm",
    "spacing_min_item": "spacing_mm", "hook_offset": "hook_offset_mm", "heel": "heel_mm", "stand_off": "stand_off_mm",
    "clip_wall": "clip_wall_mm", "clip_contact": "clip_contact_mm", "bolt_diameter": "bolt_diameter_mm", "bolt_strength": "bolt_strength_MPa",
    "slot_length": "slot_mm", "residual_required": "residual_mm", "hole_depth": "embedment_mm + below_undercut_mm",
}
_TABLES = {"layouts": "solution of the plate (docs/method/plate.md)", "candidates": "layout chosen", "anchors": "layout chosen",
           "facades": "measured from the model"}
_WITH_ITEM = ("item", "counterbore", "bolt_length", "hardware_reason")
_SOLVED = ("share", "share_min", "share_lost", "share_moved")


@cache
def _fields() -> dict[str, FieldInfo]:
    """Dotted key -> field of every section."""
    sections = {name: type(info.default) for name, info in Project.model_fields.items() if isinstance(info.default, Section)}
    return {f"{name}.{key}": info for name, model in sections.items() for key, info in model.model_fields.items()}


def setting_unit(key: str) -> str:
    info = _fields().get(key)
    return "" if info is None else str(facts(info).get("unit", ""))


def setting_text(key: str) -> str:
    """What a setting means and on whose word its default stands."""
    info = _fields().get(key)
    return "" if info is None else f"{info.description} (default's source: {facts(info).get('source', '')})"


def origin(name: str, table: str, panel: Mapping[str, str], assumed: str) -> str:
    """Words for the origin of a stage's column.  panel: material and item of the panel; assumed: settings of the material
    that nobody stated."""
    if table == "panels" and name in MATERIAL:
        return _material(MATERIAL[name], panel["material"], name, assumed)
    if table == "panels" and name in ITEM:
        return f"[hardware.{panel['item']}] {ITEM[name]}, {_source(Item, ITEM[name])}"
    if table == "panels" and name in _WITH_ITEM:
        return f"follows from [hardware.{panel['item']}], [drilling] and the lot"
    if name in _SOLVED:
        return _TABLES["layouts"]
    return _TABLES.get(table, "measured from the model")


def _material(key: str, row: str, name: str, assumed: str) -> str:
    what = f"thickness of the model and [materials.{row}] {key}, or measured" if name in ("t_min", "t_max") else f"[materials.{row}] {key}"
    nobody = any(part in (f"materials.{row}", f"materials.{row}.{key}") for part in assumed.split(", "))
    return f"ASSUMED, nobody stated {what}" if nobody else f"{what}, {_source(Material, key)}"


def _source(model: type[Section], key: str) -> str:
    info: Any = model.model_fields.get(key)
    return str(facts(info).get("source", "project data")) if info is not None else "item's data sheet"
