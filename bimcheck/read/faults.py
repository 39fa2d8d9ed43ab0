"""What reading itself finds wrong with the input."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table

_UNREADABLE = {
    "no-geometry": ("has no body", "export it with its body, or take it out"),
    "zero-thickness": ("its body has no thickness", "model it as a solid of its real thickness"),
    "degenerate-geometry": ("its body cannot be a panel: collapsed, crossing itself or out of all proportion", "model it again"),
}
_FORMS = {"curved": "curved-panel", "tapered": "tapered-panel", "folded": "folded-panel"}


def findings(elements: Table, obstacles: Table, doubled: Mapping[int, str], models: Sequence[Any]) -> list[Issue]:
    """Issues in the order of rows.  doubled: row -> name of the set that its element has twice."""
    found = [*_unreadable(elements), *_forms(elements), *_no_material(elements), *_same_guid(elements, obstacles)]
    found += [_at(elements, r, "double-set", "warning", f"has two property sets called '{name}'; which one counts is not defined",
                  key=name, way_out="take one of them out") for r, name in sorted(doubled.items())]
    found.sort(key=lambda i: i.panel)
    return found + [i for m in models for i in _north(m)]


def _at(elements: Table, row: int, rule: str, severity: str, text: str, **more: Any) -> Issue:
    x, y, z = elements["raw_origin"][row]
    return Issue(rule, severity, text, panel=int(row), x=float(x), y=float(y), z=float(z), **more)


def _unreadable(elements: Table) -> list[Issue]:
    rows = np.flatnonzero(elements["status"] == "unreadable")
    out = []
    for row in rows:
        rule = str(elements["reason"][row]).partition(":")[0]
        text, way = _UNREADABLE[rule]
        out.append(_at(elements, row, rule, "error", text, way_out=way))
    return out


def _forms(elements: Table) -> list[Issue]:
    out = []
    for row in np.flatnonzero(elements["status"] == "panel"):
        form = str(elements["form"][row])
        if form == "curved":
            rise = float(elements["sagitta"][row])
            out.append(_at(elements, row, _FORMS[form], "warning", f"is curved, rise {rise:.1f} mm; plates here are flat",
                           measured=rise, unit="mm"))
        elif form == "tapered":
            thin, thick = float(elements["thickness"][row]), float(elements["thickness_max"][row])
            out.append(_at(elements, row, _FORMS[form], "warning", f"is {thin:.1f} to {thick:.1f} mm thick", measured=thick,
                           required=thin, unit="mm"))
        elif form == "folded":
            out.append(_at(elements, row, _FORMS[form], "warning", "is folded; plates here are flat"))
    return out


def _no_material(elements: Table) -> list[Issue]:
    rows = np.flatnonzero((elements["status"] == "panel") & (elements["material_name"] == ""))
    return [_at(elements, r, "material-missing", "warning", "no material is stated", way_out="state the panel's material in the model: "
                "its strength and weight follow from it") for r in rows]


def _same_guid(elements: Table, obstacles: Table) -> list[Issue]:
    """One issue for every holder after the first, by model and entity number."""
    first: dict[str, tuple[str, str, str]] = {}
    out = []
    for row in range(elements.n):
        guid = elements["guid"][row]
        here = (elements["model"][row], elements["ifc_class"][row], elements["name"][row])
        held = first.setdefault(guid, here) if guid else here
        if held is not here:
            out.append(_at(elements, row, "duplicate-guid", "error", f"its GlobalId is also that of '{held[2]}' in {held[0]}",
                           key=str(elements["step_id"][row]), other_model=held[0], other_guid=guid, other_class=held[1],
                           other_name=held[2], way_out="give it a GlobalId of its own in the authoring program"))
    return out


def _north(model: Any) -> list[Issue]:
    """True north is a direction in plan; three components or none of length are malformed.  It is not used here."""
    out = []
    for context in model.file.by_type("IfcGeometricRepresentationContext", include_subtypes=False):
        ratios = context.TrueNorth[0] if context.TrueNorth is not None else None
        if ratios is not None and (len(ratios) != 2 or np.hypot(*ratios[:2]) < 1e-9):
            out.append(Issue("true-north", "info", f"true north has the components {tuple(ratios)}; a direction in plan has two",
                             model=model.name, key=str(context.id()), way_out="set the project's north again"))
    return out
