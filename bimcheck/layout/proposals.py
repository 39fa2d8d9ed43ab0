"""Proposals proven: the changed panel with its rules run anew and its plate solved anew, at the figures people are told."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table
from bimcheck.core.units import Array
from bimcheck.layout.batch import Batch, Index, solved
from bimcheck.layout.classes import Class, Classes
from bimcheck.layout.prove import Run
from bimcheck.layout.sites import Site

MOST_PROVEN = 48  # panels, each standing for all alike, whose proposals are solved; those of others stay estimates
_LADDER = (1.1, 1.25, 1.5, 1.75, 2.0, 2.5)
_MORE = (1.0, 1.01, 1.03, 1.07, 1.15)  # a proposal that does not hold is raised by these, one after the other

# Runs the rules of phase "panels", hardware included, on panels whose data were changed.
Restate = Callable[[Table], Table]


@dataclass(frozen=True)
class Proposals:
    """Of every panel (n,), by change: the factor, nan where it does not help, and whether it was proven."""

    factors: Mapping[str, Array]
    proven: Mapping[str, NDArray[np.bool_]]


def told(change: str, panels: Table, rows: Index, factor: Array) -> Array:
    """(k,) factors as they are written: least thickness in tenths of a millimetre, sides in whole percents."""
    if change == "thickness":
        t = panels["t_min"][rows]
        return np.ceil(np.round(10 * t * factor, 6)) / (10 * t)
    return 100 / np.maximum(np.floor(np.round(100 / factor, 6)), 1.0)


def proven(run: Run, batch: Batch, rows: Index, layout: Index, change: str, factor: Array, restate: Restate) -> tuple[Array, NDArray[np.bool_]]:
    """(k,) factors with which panel `rows` passes on `layout`, and whether that was shown; else the factor as given."""
    out, shown = told(change, run.judge.panels, rows, factor), np.zeros(len(rows), dtype=bool)
    for more in _MORE:
        left = np.flatnonzero(~shown & np.isfinite(factor))
        if not len(left):
            break
        tried = told(change, run.judge.panels, rows[left], factor[left] * more)
        holds = passes(run, batch, rows[left], layout[left], change, tried, restate)
        out[left[holds]], shown[left[holds]] = tried[holds], True
    return out, shown


def searched(run: Run, batch: Batch, rows: Index, layout: Index, restate: Restate) -> Array:
    """(k,) factors on the thickness with which panels pass where scaling shows none: another item, or tests that cover it; nan
    where none does.  In steps of _LADDER."""
    out = np.full(len(rows), np.nan)
    for step in _LADDER:
        left = np.flatnonzero(np.isnan(out))
        if not len(left):
            break
        tried = told("thickness", run.judge.panels, rows[left], np.full(len(left), step))
        holds = passes(run, batch, rows[left], layout[left], "thickness", tried, restate)
        out[left[holds]] = tried[holds]
    return out


def passes(run: Run, batch: Batch, rows: Index, layout: Index, change: str, factor: Array, restate: Restate) -> NDArray[np.bool_]:
    """(k,) whether the changed panels pass on their layouts, solved anew, with an item that fits them."""
    before = run.judge.panels.take(rows)
    after = restate(_CHANGES[change](before, factor))
    shrunk = factor if change == "size" else np.ones(len(factor))
    classes = Classes(tuple(_class(run.classes[int(run.cls[r])], before, after, k, float(shrunk[k])) for k, r in enumerate(rows.tolist())))
    each = np.arange(len(rows))
    fresh = solved(classes, each, batch.pattern[layout], batch.points[layout] / shrunk[:, None, None], run.solve)
    fits = np.asarray(after["hardware_reason"] == "", dtype=bool) if "hardware_reason" in after else True
    return replace(run.judge, panels=after).of(fresh, each, each).passes & fits


def _class(old: Class, before: Table, after: Table, k: int, shrunk: float) -> Class:
    """Springs stay as they are, so that D / k follows the plate."""
    softer = {name: float(after[d][k] / before[d][k]) if d in after else 1.0 for name, d in (("softness", "D"), ("softness_moved", "D_max"))}
    radius = float(after["undercut_radius"][k])
    thicker = float(after["t_min"][k] / before["t_min"][k])
    return replace(old, site=_site(old.site, shrunk), radius=radius if np.isfinite(radius) else old.radius, thickness=old.thickness * thicker,
                   softness=old.softness * softer["softness"], softness_moved=old.softness_moved * softer["softness_moved"])


def _site(site: Site, shrunk: float) -> Site:
    if shrunk == 1.0:
        return site
    return Site(tuple(r / shrunk for r in site.rings), site.boxes / shrunk, site.rails / shrunk, site.flipped)


def _thicker(panels: Table, factor: Array) -> Table:
    return panels.with_columns(**{k: panels[k] * factor for k in ("thickness", "thickness_max", "t_min", "t_max") if k in panels})


def _smaller(panels: Table, factor: Array) -> Table:
    """In its place: zones and joints stay what they are."""
    outline: Ragged = panels["outline"]
    scale = np.column_stack([1 / factor, 1 / factor, np.ones(len(factor))])[outline.rows]
    return panels.with_columns(width=panels["width"] / factor, height=panels["height"] / factor, net_area=panels["net_area"] / factor**2,
                               outline=Ragged(outline.values * scale, outline.offsets))


_CHANGES: Mapping[str, Callable[[Table, Array], Table]] = {"thickness": _thicker, "size": _smaller}
SOLVED: Sequence[str] = tuple(_CHANGES)  # changes that need the plate; strengths do not touch it
