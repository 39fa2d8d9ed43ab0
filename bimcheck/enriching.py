"""Write-back: each model with its block of ours, to a file or in memory."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from bimcheck.core.plan import Plan
from bimcheck.core.tables import Tables
from bimcheck.project import Settings
from bimcheck.write.ifc_enrich import Plan as WritePlan
from bimcheck.write.ifc_enrich import enrich
from bimcheck.write.ifc_model import Author
from bimcheck.write.ifc_properties import Check
from bimcheck.write.ifc_run import Run

_STAMP = re.compile(rb"FILE_NAME\s*\(\s*'(?:[^']|'')*'\s*,\s*'([^']*)'", re.S)


def write_plan(plan: Plan, settings: Settings, facts: Mapping[str, Any], original: bytes) -> WritePlan:
    """What the record and the sets say: the date is the input's own or SOURCE_DATE_EPOCH, never the clock."""
    checks = [Check(r.adds[0].name, r.name, r.clause) for r in plan.checks()]
    columns = [c for c in plan.columns.values() if c.table == "panels"]
    extra = {"Assumed": ", ".join(facts["assumed"]), "GroundFrom": str(facts["building"]["ground_source"])}
    return WritePlan(columns, checks, settings.project.ifc, Run(str(facts["version"]), settings.sha256, stamp(original), extra),
                     settings.project.model.length_unit)


def stamp(original: bytes) -> str:
    """ISO date and time of the run record."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdigit():
        return datetime.fromtimestamp(int(epoch), UTC).strftime("%Y-%m-%dT%H:%M:%S")
    found = _STAMP.search(original[:8192])
    return found.group(1).decode("latin-1") if found else ""


def write_enriched(path: Path, original: bytes, author: Author, tables: Tables, index: int, plan: Plan, settings: Settings, facts: Mapping[str, Any]) -> Path:
    """The enriched model, whole or not at all."""
    done = enrich(original, author, tables, index, write_plan(plan, settings, facts, original))
    part = path.with_name(path.name + ".part")
    with part.open("wb") as out:
        for piece in done.parts:
            out.write(piece)
    os.replace(part, path)
    return path
