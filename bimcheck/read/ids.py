"""What a model must bring, checked by the IDS file shipped here (buildingSMART Information Delivery Specification)."""

from __future__ import annotations

from importlib import resources
from typing import Any

import ifctester.ids

from bimcheck.core.errors import InputError

REQUIRED = "data/required.ids"


def check_ids(file: Any, path: str | None = None) -> list[dict[str, Any]]:
    """One row an element and requirement that it misses: specification, guid, step_id, ifc_class, name, missing.

    file: an open model; path: another IDS file than the one shipped.  A specification that must apply and finds nothing to
    apply to gives a row without an element.  Raises InputError for an IDS file that cannot be read.
    """
    specifications = _open(path)
    specifications.validate(file)
    return [row for s in specifications.specifications for row in _rows(s)]


def _open(path: str | None) -> Any:
    try:
        if path:
            return ifctester.ids.open(path)
        return ifctester.ids.from_string(resources.files("bimcheck.read").joinpath(REQUIRED).read_text(encoding="utf-8"))
    except Exception as problem:
        raise InputError(f"cannot be read as IDS: {problem}", str(path or REQUIRED), "check it against the IDS schema") from problem


def _rows(specification: Any) -> list[dict[str, Any]]:
    rows = [_row(specification.name, element, requirement.to_string("requirement", specification, requirement))
            for requirement in specification.requirements for element in _failing(requirement)]
    if specification.minOccurs and not specification.applicable_entities:
        rows.append({"specification": specification.name, "guid": "", "step_id": 0, "ifc_class": "", "name": "",
                     "missing": "no element that this applies to"})
    return sorted(rows, key=lambda r: (r["step_id"], r["missing"]))


def _failing(requirement: Any) -> list[Any]:
    return [f["element"] for f in requirement.failures]


def _row(name: str, element: Any, missing: str) -> dict[str, Any]:
    return {"specification": name, "guid": str(element[0]), "step_id": element.id(), "ifc_class": element.is_a(),
            "name": str(element[2] or ""), "missing": missing}
