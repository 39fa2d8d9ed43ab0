"""The gate before any calculation: what a model must bring (IDS), element by element.  Needs the extra `ids`."""

from __future__ import annotations

from collections.abc import Collection
from importlib import resources
from pathlib import Path
from typing import Any

import ifctester.ids

from bimcheck.core.errors import InputError


def check_ids(file: Any, path: Path | None = None, only: Collection[int] | None = None) -> list[dict[str, Any]]:
    """Requirements that are not met: a row an element and requirement, by specification and entity number.

    file: open ifcopenshell file.  path: IDS file; left out, the one that comes with bimcheck.  only: entity numbers;
    restricts rows to these elements.  Keys: guid, step_id, name, spec, requirement, missing.  A specification that must
    apply to something and applies to nothing gives one row without an element.  Raises InputError.
    """
    rows: list[dict[str, Any]] = []
    for spec in _open(path).specifications:
        spec.validate(file, should_filter_version=False)
        found = [_row(spec, facet, f) for facet in spec.requirements for f in facet.failures]
        rows += sorted((r for r in found if only is None or r["step_id"] in only), key=lambda r: r["step_id"])
        if spec.minOccurs != 0 and not spec.applicable_entities:
            rows.append(_blank(spec))
    return rows


def shipped() -> Path:
    """The IDS file that comes with bimcheck."""
    return Path(str(resources.files("bimcheck.read").joinpath("data/required.ids")))


def _open(path: Path | None) -> Any:
    try:
        return ifctester.ids.open(str(path or shipped()), validate=True)
    except Exception as problem:
        raise InputError("cannot be read as IDS", str(path), f"check the file: {problem}") from problem


def _row(spec: Any, facet: Any, failure: Any) -> dict[str, Any]:
    element = failure.element if hasattr(failure, "element") else failure["element"]
    reason = failure.reason if hasattr(failure, "reason") else failure["reason"]
    return {"guid": getattr(element, "GlobalId", "") or "", "step_id": element.id(), "name": getattr(element, "Name", None) or "",
            "spec": spec.name, "requirement": facet.to_string("requirement", spec, facet), "missing": str(reason)}


def _blank(spec: Any) -> dict[str, Any]:
    wanted = " with ".join(_classes(f) for f in spec.applicability)
    return {"guid": "", "step_id": 0, "name": "", "spec": spec.name, "requirement": f"at least one {wanted}",
            "missing": "the model holds no such element"}


def _classes(facet: Any) -> str:
    """Names that the facet allows; another kind of facet in its own words."""
    name = getattr(facet, "name", None)
    options = getattr(name, "options", None)
    if isinstance(options, dict) and "enumeration" in options:
        return " or ".join(options["enumeration"])
    return name if isinstance(name, str) else facet.to_string("applicability")
