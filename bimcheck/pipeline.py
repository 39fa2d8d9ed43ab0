"""The order of a run: read -> relate -> materials, hardware -> wind -> layout -> place -> joints -> result -> issues.

The only place that knows it; stages meet in the tables, and one stage's function is handed to another here.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck import __version__
from bimcheck.assemble import assumed_settings, panels_of, placed, reasons
from bimcheck.checks.result import bring_down, governing, result_of
from bimcheck.clash.carriers import carriers
from bimcheck.core.beside import Beside, worth_it
from bimcheck.core.issue import Issue, issue_table
from bimcheck.core.memory import give_back, peak_MB
from bimcheck.core.plan import Plan
from bimcheck.core.tables import Table, Tables
from bimcheck.hardware.choose import Limits, choose
from bimcheck.inputs import Source, read_settings, site_facts
from bimcheck.layout.authors import authors_anchors
from bimcheck.layout.keep import Kept, read_kept
from bimcheck.layout.waves import Selected
from bimcheck.layout.waves import run as lay_out
from bimcheck.materials.assign import assign
from bimcheck.materials.measured import read_measured
from bimcheck.planning import finders_of, plan_of
from bimcheck.plate.envelope import layouts as solve_layouts
from bimcheck.project import Settings
from bimcheck.read.stage import ReadResult, read_models
from bimcheck.relate.facts import Related
from bimcheck.relate.grid import axes_table, places
from bimcheck.relate.stage import relate
from bimcheck.result import Result, plan_facts
from bimcheck.supports import reactions
from bimcheck.write.ifc_enrich import author_of
from bimcheck.write.ifc_model import Author

Progress = Callable[[str], None]
MANY = 4000  # panels from which a second process is worth its start
ASIDE = ("panel-bodies", "joints", "behind", "cut-outs")


@dataclass
class Clock:
    """Seconds a stage, for run.json."""

    progress: Progress
    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def stage(self, name: str) -> Any:
        self.progress(name)
        start = time.perf_counter()
        yield
        give_back()
        self.seconds[name] = round(self.seconds.get(name, 0.0) + time.perf_counter() - start, 3)


@dataclass(frozen=True)
class Run:
    """A run before anything is written: the result, what was read, and the plan."""

    result: Result
    read: ReadResult
    plan: Plan
    clock: Clock
    authors: Sequence[Author]  # of each model: what write-back needs of it


def run(sources: Sequence[Source], settings: Settings, progress: Progress = lambda text: None, *, only: str | None = None) -> Run:
    """From sources to a result; nothing is written here.

    Raises InputError where input or project cannot be used (before any model is opened where the project is at fault).
    """
    plan, finders, clock = plan_of(settings), finders_of(settings), Clock(progress)
    with clock.stage("read"):
        read, authors = _read(sources, settings, only)
    with clock.stage("relate"):
        related = relate(read.elements, read.obstacles, site_facts(read.models, settings), settings.project.relate)
    with clock.stage("panels"):
        panels = _ready(panels_of(related.elements), settings, only is not None)
        tables = plan.run("panels", {"panels": panels, "facades": _with_dummy(related.facades)})
    with clock.stage("layout"):
        kept = _kept(tables["panels"], read.obstacles, settings.project.layout.keep, only is not None)
        chosen = _layout(tables, plan, settings, progress, kept)
    with clock.stage("checks"):
        done = _checked(chosen, related, _without_kept(read.obstacles, kept), plan)
        done["anchors"] = done["anchors"].with_columns(support=carriers(done, settings.values))
    with clock.stage("issues"):
        issues = [*read.issues, *related.issues, *_found(done, settings, finders, plan)]
    with clock.stage("result"):
        final, assumed = _results(done, issues, plan, settings, related)
        final["support_reactions"] = reactions(final, settings, related.building.ground)
    facts = _facts(read, related, plan, settings, clock, chosen, assumed)
    facts |= {"written": authors[0].written, **({"only": only} if only else {})}
    return Run(Result({**final, **_placed_issues(issues, read)}, facts), read, plan, clock, authors)


def _read(sources: Sequence[Source], settings: Settings, only: str | None) -> tuple[ReadResult, list[Author]]:
    read, project = read_models([s.opened for s in sources], read_settings(settings), only), settings.project
    return read.closed(), [author_of(m.opened.file, s.original(m.opened.sha256), read.elements, i, project.ifc, project.model.length_unit)
                           for i, (m, s) in enumerate(zip(read.models, sources, strict=True))]


def _placed_issues(issues: list[Issue], read: ReadResult) -> dict[str, Table]:
    """The issues with their place against the grid axes, and these axes."""
    axes, listed = axes_table(axis for model in read.models for axis in model.grid), issue_table(issues)
    return {"axes": axes, "issues": listed.with_columns(grid=places(np.column_stack([listed[k] for k in "xyz"]), axes))}


def _ready(panels: Table, settings: Settings, partial: bool) -> Table:
    path = settings.project.drilling.measured
    measured = read_measured(Path(path), panels, partial) if path else None
    return _with_hardware(assign(panels, settings.materials, measured), settings)


def _with_hardware(panels: Table, settings: Settings) -> Table:
    drilling = settings.project.drilling
    limits = Limits(drilling.undercut_tolerance_mm, drilling.clip_tolerance_mm, drilling.bolt_step_mm,
                    drilling.bolt_clearance_mm, drilling.bolt_wall_max_mm, drilling.counterbore_max_mm,
                    back_off_turns=drilling.back_off_turns, residual=drilling.residual_mm, screw_wall_max=drilling.screw_wall_max_mm)
    return choose(panels, settings.items, limits, drilling.set_up, drilling.machine)


def _with_dummy(facades: Table) -> Table:
    """A facade of nothing where there is none, so that panels without a facade have something to point past."""
    if facades.n:
        return facades
    row = {k: np.zeros((1, *c.shape[1:]), dtype=c.dtype) if c.dtype != object else np.array([""], dtype=object)
           for k, c in facades.columns.items() if isinstance(c, np.ndarray)}
    return Table("facades", 1, row)


def _layout(tables: Tables, plan: Plan, settings: Settings, progress: Progress, kept: Kept | None) -> Selected:
    project = settings.project
    names = {t: [r.adds[0].name for r in plan.checks(t)] for t in ("candidates", "anchors")}
    return lay_out(
        tables, project.layout, lambda jobs: solve_layouts(jobs, robust=project.actions.robust),
        lambda wave: plan.run("wave", wave), names, progress, spring=project.actions.spring_kN_mm * 1e3, misfit=project.actions.misfit_mm > 0,
        kept=kept, restate=lambda changed: plan.run("panels", {**tables, "panels": _with_hardware(changed, settings)})["panels"])


def _kept(panels: Table, obstacles: Table, keep: str, partial: bool) -> Kept | None:
    if keep == "author":
        return authors_anchors(panels, obstacles)
    return read_kept(Path(keep), panels, partial) if keep else None


def _without_kept(obstacles: Table, kept: Kept | None) -> Table:
    """Anchors of the author's that are kept stand in nobody's way."""
    if kept is None or not len(kept.obstacles):
        return obstacles
    role = obstacles["role"].copy()
    role[kept.obstacles] = "kept"
    return obstacles.with_columns(role=role)


def _checked(chosen: Selected, related: Related, obstacles: Table, plan: Plan) -> dict[str, Table]:
    tables = {**chosen.tables, "elements": related.elements, "joints": related.joints, "behind": related.behind,
              "obstacles": obstacles, "shapes": related.shapes, "standardisation": chosen.standardisation}
    tables["anchors"] = placed(tables["anchors"], tables)
    tables = plan.run("selected", tables)
    tables["panels"] = bring_down([*plan.checks("candidates"), *plan.checks("anchors")], tables["panels"], tables["candidates"], tables["anchors"])
    return tables


def _found(tables: Tables, settings: Settings, finders: Mapping[str, Any], plan: Plan) -> list[Issue]:
    """What all finders find, in their order; of large models those of bodies and joints look in a second process."""
    whole = {**settings.values, "checks": plan.checks()}

    def told(names: Sequence[str]) -> dict[str, list[Issue]]:
        return {name: list(finders[name](tables, whole)) for name in names}

    aside = [name for name in finders if name in ASIDE] if tables["panels"].n > MANY and worth_it() else []
    beside = Beside([partial(told, aside)]) if aside else None
    found = told([name for name in finders if name not in aside]) | (beside.wait()[0] if beside else {})
    return [issue for name in finders for issue in found[name]]


def _results(tables: dict[str, Table], issues: list[Issue], plan: Plan, settings: Settings, related: Related) -> tuple[dict[str, Table], list[str]]:
    panels = tables["panels"]
    name, u, lacking = governing(panels, plan.checks())
    assumed = assumed_settings(plan, settings.assumed)
    wind = settings.project.wind
    known = related.building.known or (wind.h_m is not None and len(wind.footprint) >= 3)
    why = reasons(panels, assumed, known)
    why = np.array([w or (f"no value for: {miss}" if miss else "") for w, miss in zip(why, lacking, strict=True)], dtype=object)
    panels = panels.with_columns(governing_check=name, utilisation=u, result=result_of(u, lacking, why, _errors(panels, issues)), reason=why)
    return {**tables, "panels": panels}, assumed


def _errors(panels: Table, issues: list[Issue]) -> Any:
    named = {row for i in issues if i.severity == "error" for row in (i.panel, i.other_panel) if row >= 0}
    return np.isin(panels["element"], list(named)) if named else np.zeros(panels.n, dtype=bool)


def _facts(read: ReadResult, related: Related, plan: Plan, settings: Settings, clock: Clock, chosen: Selected, assumed: list[str]) -> dict[str, Any]:
    status = related.elements["status"]
    counts = {"considered": related.elements.n, **{s: int((status == s).sum()) for s in ("panel", "out_of_scope", "unreadable")}}
    building = related.building
    return {
        "version": __version__, "settings_sha256": settings.sha256, "project_stated": settings.stated,
        "models": [{"name": m.name, "sha256": m.opened.sha256, "schema": m.opened.schema, "bytes": m.opened.size, "length_unit": m.opened.unit,
                    "other_elements": dict(sorted(m.other_counts.items()))} for m in read.models],
        "counts": counts, "layout": dict(chosen.counts), "assumed": assumed,
        "building": {"h_m": building.h / 1e3, "ground_m": building.ground / 1e3, "ground_source": building.ground_source,
                     "ring_source": building.ring_source, "known": bool(building.known)},
        "units": settings.project.write.units, "seconds": clock.seconds,
        "peak_memory_MB": peak_MB(), "given": _given(settings), **plan_facts(plan),
    }


def _given(settings: Settings) -> dict[str, Any]:
    """Rows of materials and items as the project states them, so that what an explanation rests on can be told."""
    return {"materials": [{"name": r.name, "assumed": list(r.assumed), "data": r.data.model_dump(mode="json")} for r in settings.materials],
            "items": {name: item.model_dump(mode="json") for name, item in settings.items.items()}}
