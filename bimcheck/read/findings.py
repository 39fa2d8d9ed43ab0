"""What reading finds wrong with a model."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table
from bimcheck.read.facts import ModelFacts
from bimcheck.read.suit import PANEL, UNREADABLE

READABLE_AGAIN = {
    "no-geometry": ("has no body", "export it with its body"),
    "zero-thickness": ("is a surface without thickness", "model it as a solid"),
    "degenerate-geometry": ("has a body without volume or beyond any size", "model it again"),
}


def findings(elements: Table, twice: Sequence[tuple[str, ...]], models: Sequence[ModelFacts]) -> list[Issue]:
    """Issues of elements (panel: row of `elements`) and of files; twice: per element, names of property sets it has twice."""
    return [*_unreadable(elements), *_duplicates(elements), *_no_material(elements), *_forms(elements), *_twice(elements, twice), *_files(models)]


def _at(elements: Table, row: int) -> dict[str, object]:
    x, y, z = elements["raw_origin"][row]
    return {"panel": row, "model": elements["model"][row], "guid": elements["guid"][row], "name": elements["name"][row], "x": x, "y": y, "z": z}


def _unreadable(elements: Table) -> list[Issue]:
    out = []
    for row in np.flatnonzero(elements["status"] == UNREADABLE).tolist():
        rule = elements["reason"][row].split(":")[0]
        what, way_out = READABLE_AGAIN[rule]
        out.append(Issue(rule, "error", f"{_called(elements, row)} {what}", way_out=way_out, **_at(elements, row)))  # type: ignore[arg-type]
    return out


def _called(elements: Table, row: int) -> str:
    return f"{elements['ifc_class'][row]} '{elements['name'][row]}'" if elements["name"][row] else f"{elements['ifc_class'][row]} #{elements['step_id'][row]}"


def _duplicates(elements: Table) -> list[Issue]:
    """One issue a further holder of a GlobalId, beside the first one."""
    first: dict[str, int] = {}
    out = []
    for row, guid in enumerate(elements["guid"]):
        if guid not in first:
            first[guid] = row
            continue
        other = first[guid]
        where = "" if elements["model"][row] == elements["model"][other] else f" of {elements['model'][other]}"
        out.append(Issue(
            "duplicate-guid", "error", f"{_called(elements, row)} has the same GlobalId as {_called(elements, other)}{where}",
            key=str(elements["step_id"][row]), other_panel=other, other_model=elements["model"][other], other_guid=guid,
            other_class=elements["ifc_class"][other], other_name=elements["name"][other],
            way_out="give one of them a new GlobalId", **_at(elements, row)))  # type: ignore[arg-type]
    return out


def _no_material(elements: Table) -> list[Issue]:
    rows = np.flatnonzero((elements["status"] == PANEL) & (elements["material_name"] == ""))
    return [Issue("material-missing", "warning", f"{_called(elements, row)} has no material", way_out="assign the panel's material",
                  **_at(elements, row)) for row in rows.tolist()]  # type: ignore[arg-type]


def _forms(elements: Table) -> list[Issue]:
    panel = elements["status"] == PANEL
    out = []
    for row in np.flatnonzero(panel & (elements["form"] == "curved")).tolist():
        rise = float(elements["sagitta"][row])
        out.append(Issue("curved-panel", "warning", f"{_called(elements, row)} is curved: it rises {rise:.1f} mm over its chord",
                         measured=rise, unit="mm", way_out="prove the panel by itself", **_at(elements, row)))  # type: ignore[arg-type]
    for row in np.flatnonzero(panel & (elements["form"] == "tapered")).tolist():
        least, most = float(elements["thickness"][row]), float(elements["thickness_max"][row])
        out.append(Issue("tapered-panel", "warning", f"{_called(elements, row)} is {least:.1f} to {most:.1f} mm thick", measured=most - least,
                         unit="mm", way_out="prove the panel by itself", **_at(elements, row)))  # type: ignore[arg-type]
    for row in np.flatnonzero(panel & (elements["form"] == "folded")).tolist():
        out.append(Issue("folded-panel", "warning", f"{_called(elements, row)} is folded: only its larger leg is read",
                         way_out="prove the panel by itself", **_at(elements, row)))  # type: ignore[arg-type]
    for row in np.flatnonzero(panel & (elements["form"] == "profiled")).tolist():
        out.append(Issue("profiled-panel", "warning", f"{_called(elements, row)} is ribbed or stepped: only its silhouette is read",
                         way_out="prove the panel by itself", **_at(elements, row)))  # type: ignore[arg-type]
    return out


def _twice(elements: Table, twice: Sequence[tuple[str, ...]]) -> list[Issue]:
    return [Issue("duplicate-property-set", "warning", f"{_called(elements, row)} has the property set '{name}' twice", key=name,
                  way_out="keep one of them", **_at(elements, row))  # type: ignore[arg-type]
            for row, names in enumerate(twice) if names and elements["status"][row] == PANEL for name in names]


def _files(models: Sequence[ModelFacts]) -> list[Issue]:
    out = []
    for m in models:
        north = m.true_north
        if north and (len(north) != 2 or not np.hypot(*north[:2]) > 1e-6):
            out.append(Issue("true-north", "warning", f"{m.name}: true north is stated by {len(north)} numbers", model=m.name,
                             key="north", way_out="state it by two numbers; wind directions are taken from the plan only"))
    by_project: dict[str, list[str]] = defaultdict(list)
    for m in models:
        by_project[m.opened.sha256 or m.name].append(m.name)
    out += [Issue("same-file", "warning", f"{', '.join(names)} are the same file", model=names[0], key="same",
                  way_out="pass each model once") for names in by_project.values() if len(names) > 1]
    return out
