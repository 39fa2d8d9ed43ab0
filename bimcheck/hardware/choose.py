"""The item of each panel: the deepest one that fits its thickness range, material and lengths; else why none fits."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.hardware.lengths import bolt_window, counterbore_depth, longest_in
from bimcheck.hardware.settings import Item

_COLUMNS = {  # column of panels -> key of the item
    "embedment": "embedment_mm", "hole_diameter": "hole_diameter_mm", "undercut_radius": "undercut_radius_mm",
    "edge_min_item": "edge_mm", "spacing_min_item": "spacing_mm", "hook_offset": "hook_offset_mm", "heel": "heel_mm",
    "stand_off": "stand_off_mm", "clip_wall": "clip_wall_mm", "clip_contact": "clip_contact_mm",
    "bolt_diameter": "bolt_diameter_mm", "bolt_strength": "bolt_strength_MPa", "slot_length": "slot_mm",
}


@dataclass(frozen=True)
class Limits:
    """[drilling] settings that the choice needs, mm."""

    undercut_tolerance: float = 0.4
    clip_tolerance: float = 0.1
    bolt_step: float = 1.5
    bolt_clearance: float = 0.3
    bolt_wall_max: float = 3.2
    counterbore_max: float = 4.0


@cache
def invented() -> Mapping[str, Item]:
    """The invented items shipped with the package."""
    text = files("bimcheck.hardware").joinpath("data/invented.toml").read_text(encoding="utf-8")
    return {name: Item(**row) for name, row in tomllib.loads(text).items()}


def choose(panels: Table, items: Mapping[str, Item], limits: Limits) -> Table:
    """Add the hardware columns of the vocabulary.

    panels: reads material, t_min, t_max, thickness, face, lot.  A panel that no item fits gets the nearest one, so that
    layouts can be proposed, and `hardware_reason` names the dimension that fails and by how much.
    """
    names = list(items)
    t_lot = _least_of_lot(panels)
    cut = counterbore_depth(panels["t_min"], t_lot, np.asarray(panels["face"] == "polished-ungauged", dtype=bool))
    t = panels["t_min"] - cut
    lack = np.array([_lack(panels, t, cut, items[n], limits) for n in names])  # (items, n) mm missing, 0 where it fits
    depth = np.array([items[n].embedment_mm for n in names])
    score = np.where(lack <= 0, depth[:, None], -1e3 - lack)
    pick = np.argmax(score, axis=0)
    chosen = {c: np.array([getattr(items[n], k) for n in names], dtype=float)[pick] for c, k in _COLUMNS.items()}
    bolts = np.array([bolt_length(items[n], limits) for n in names])[pick]
    return panels.with_columns(
        item=np.array(names, dtype=object)[pick], counterbore=cut, **chosen,
        hole_depth=np.array([items[n].embedment_mm + items[n].below_undercut_mm for n in names])[pick],
        residual_required=np.array([items[n].residual_mm for n in names])[pick],
        bolt_length=bolts, hardware_reason=_reasons(panels, t, cut, items, names, pick, lack, limits),
    )


def _least_of_lot(panels: Table) -> Array:
    lots, at = np.unique(np.asarray(panels["lot"], dtype=str), return_inverse=True)
    least = np.full(len(lots), np.inf)
    np.minimum.at(least, at.ravel(), np.nan_to_num(panels["t_min"], nan=np.inf))
    return least[at.ravel()]


def bolt_length(item: Item, limits: Limits) -> float:
    """Longest length that engages enough and never bottoms; nan where none does."""
    outside = item.clip_wall_mm + item.washer_mm + (item.nut_mm if item.fastener == "set-screw" else 0.0)
    window = bolt_window(item.embedment_mm + item.below_undercut_mm, outside, item.thread_engagement_mm, limits.bolt_clearance,
                         (limits.undercut_tolerance, limits.clip_tolerance))
    return longest_in(window, limits.bolt_step, item.bolt_lengths_mm)


def _lack(panels: Table, t: Array, cut: Array, item: Item, limits: Limits) -> Array:
    """(n,) mm by which the item does not fit, 1e3 for another material or wall; 0 where it fits."""
    parts = _parts(panels, t, cut, item, limits)
    return np.max([np.maximum(p, 0.0) for p in parts.values()], axis=0)


def _parts(panels: Table, t: Array, cut: Array, item: Item, limits: Limits) -> dict[str, Array]:
    depth = item.embedment_mm + item.below_undercut_mm
    n = panels.n
    suits = {m: any(fnmatchcase(m, g) for g in item.materials) for m in set(panels["material"].tolist())}
    other = np.array([0.0 if suits[m] else 1e3 for m in panels["material"]])
    wall = item.fastener == "bolt" and item.clip_wall_mm > limits.bolt_wall_max
    return {
        "material": other,
        "panel too thin": item.thickness_min_mm - t,
        "panel too thick": panels["t_max"] - item.thickness_max_mm,
        "residual too small": item.residual_mm - (t - depth),
        "counterbore too deep": cut - limits.counterbore_max,
        "clip wall too thick for a bolt": np.full(n, item.clip_wall_mm - limits.bolt_wall_max if wall else 0.0),
        "no bolt length": np.full(n, 1.0 if np.isnan(bolt_length(item, limits)) else 0.0),
    }


def _reasons(panels: Table, t: Array, cut: Array, items: Mapping[str, Item], names: list[str], pick: Array, lack: Array, limits: Limits) -> Array:
    out = np.full(panels.n, "", dtype=object)
    for i, name in enumerate(names):
        rows = np.flatnonzero((pick == i) & (lack[i] > 0))
        if not len(rows):
            continue
        parts = _parts(panels.take(rows), t[rows], cut[rows], items[name], limits)
        worst = np.argmax(list(parts.values()), axis=0)
        for r, w in zip(rows, worst, strict=True):
            what = list(parts)[w]
            amount = "" if what in ("material", "no bolt length") else f" by {lack[i][r]:.1f} mm"
            out[r] = f"no item fits; nearest {name}: {what}{amount}"
    return out
