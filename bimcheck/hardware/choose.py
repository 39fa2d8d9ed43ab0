"""The item of each panel: the deepest one that fits its thickness range, material and lengths; else why none fits."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.hardware.drilling import Recess, instructions, recess
from bimcheck.hardware.lengths import back_off, bolt_window, longest_in, missing
from bimcheck.hardware.settings import Item

_OTHER = 1e3  # what stands for a misfit that is no length
_COLUMNS = {  # column of panels -> key of the item
    "embedment": "embedment_mm", "hole_diameter": "hole_diameter_mm", "undercut_radius": "undercut_radius_mm",
    "edge_min_item": "edge_mm", "spacing_min_item": "spacing_mm", "hook_offset": "hook_offset_mm", "heel": "heel_mm",
    "stand_off": "stand_off_mm", "clip_wall": "clip_wall_mm", "clip_contact": "clip_contact_mm",
    "bolt_diameter": "bolt_diameter_mm", "bolt_strength": "bolt_strength_MPa", "slot_length": "slot_mm", "washer": "washer_mm",
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
    back_off_turns: float = 0.25
    residual: float = 0.0
    screw_wall_max: float = 5.2


@cache
def invented() -> Mapping[str, Item]:
    """The invented items shipped with the package."""
    text = files("bimcheck.hardware").joinpath("data/invented.toml").read_text(encoding="utf-8")
    return {name: Item(**row) for name, row in tomllib.loads(text).items()}


def choose(panels: Table, items: Mapping[str, Item], limits: Limits, set_up: str = "", machine: str = "") -> Table:
    """Add the hardware columns of the vocabulary.

    panels: reads material, t_min, t_max, face, lot, measured.  set_up, machine: named in the drilling data.
    A panel that no item fits gets the nearest one, so that layouts can be proposed, and `hardware_reason` names the
    dimension that fails and by how much; so it does where the thickness or the material is not known.  Of the items
    that fit the deepest is taken.
    """
    names = list(items)
    cut = recess(panels)
    parts = {n: _parts(panels, cut, items[n], limits) for n in names}
    lack = np.array([_lack(p) for p in parts.values()])  # (items, n) mm missing, 0 where it fits
    depth = np.array([items[n].embedment_mm for n in names])
    pick = np.argmax(np.where(lack <= 0, depth[:, None], 1e-6 * depth[:, None] - lack - _OTHER), axis=0)
    chosen = {c: np.array([getattr(items[n], k) for n in names], dtype=float)[pick] for c, k in _COLUMNS.items()}
    lengths = np.array([bolt_length(items[n], limits) for n in names])[pick]
    depths = np.array([hole_depth(items[n]) for n in names])[pick]
    return panels.with_columns(
        item=np.array(names, dtype=object)[pick], counterbore=cut.least, counterbore_set=cut.set, counterbore_most=cut.greatest, t_lot=cut.t_lot,
        **chosen, **{k: np.array([getattr(items[n], k) for n in names], dtype=object)[pick] for k in ("fastener", "thread")}, hole_depth=depths,
        residual_required=np.array([residual(items[n], limits) for n in names])[pick],
        bolt_length=lengths, hardware_reason=_reasons(names, pick, lack, parts),
        drilling=instructions(cut, depths, limits.counterbore_max, set_up, machine),
    )


def hole_depth(item: Item) -> float:
    """Depth of the hole from the rear face (from the bottom of the counterbore where there is one)."""
    return item.embedment_mm + item.below_undercut_mm


def residual(item: Item, limits: Limits) -> float:
    """Least material in front of the hole: what the item or the project asks for."""
    return max(item.residual_mm, limits.residual)


def bolt_length(item: Item, limits: Limits) -> float:
    """Longest length that engages enough and never bottoms; nan where none does."""
    return longest_in(_window(item, limits), limits.bolt_step, item.bolt_lengths_mm)


def _window(item: Item, limits: Limits) -> tuple[float, float]:
    """Least and greatest length.  A set screw is backed off from the bottom by turns of its thread."""
    screw = item.fastener == "set-screw"
    outside = item.clip_wall_mm + item.washer_mm + (item.nut_mm if screw else 0.0)
    clearance = back_off(limits.back_off_turns, item.thread_pitch_mm) if screw else limits.bolt_clearance
    return bolt_window(hole_depth(item), outside, item.thread_engagement_mm, clearance, (limits.undercut_tolerance, limits.clip_tolerance))


def _lack(parts: Mapping[str, Array]) -> Array:
    """(n,) mm by which the item does not fit, 1e3 where it is no matter of a length or not known; 0 where it fits."""
    return np.max([np.where(np.isnan(p), _OTHER, np.maximum(p, 0.0)) for p in parts.values()], axis=0)


def _parts(panels: Table, cut: Recess, item: Item, limits: Limits) -> dict[str, Array]:
    """mm missing by dimension, above 0 where the item does not fit, nan where that is not known.

    The limit of the recess is held where the lot was measured; elsewhere it is a condition for sorting the lot.
    """
    t = panels["t_min"] - cut.least
    n, window = panels.n, _window(item, limits)
    suits = {m: any(fnmatchcase(m, g) for g in item.materials) for m in set(panels["material"].tolist())}
    most = {"bolt": limits.bolt_wall_max, "set-screw": limits.screw_wall_max}[item.fastener]
    return {
        "not for this material": np.array([0.0 if suits[m] else _OTHER for m in panels["material"]]),
        "panel too thin": item.thickness_min_mm - t,
        "panel too thick": panels["t_max"] - item.thickness_max_mm,
        "residual too small": residual(item, limits) - (t - hole_depth(item) - limits.undercut_tolerance),
        "counterbore too deep": np.where(cut.known, cut.greatest, 0.0) - limits.counterbore_max,
        f"clip wall too thick for a {item.fastener}": np.full(n, item.clip_wall_mm - most),
        "no bolt length in its window, short": np.full(n, missing(window, limits.bolt_step, item.bolt_lengths_mm)),
    }


def _reasons(names: list[str], pick: Array, lack: Array, parts: Mapping[str, Mapping[str, Array]]) -> NDArray:
    out = np.full(len(pick), "", dtype=object)
    for i, name in enumerate(names):
        rows = np.flatnonzero((pick == i) & (lack[i] > 0))
        if not len(rows):
            continue
        values = np.array([p[rows] for p in parts[name].values()])
        worst = np.argmax(np.where(np.isnan(values), np.inf, values), axis=0)
        for r, w, value in zip(rows, worst, values[worst, np.arange(len(rows))], strict=True):
            out[r] = f"no item fits, nearest {name}: {_told(list(parts[name])[w], float(value))}"
    return out


def _told(what: str, value: float) -> str:
    if np.isnan(value):
        return "thickness not known"
    return what if value >= _OTHER else f"{what} by {value:.1f} mm"
