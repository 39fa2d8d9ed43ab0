"""bimcheck.enrich: the whole job on a model that a host holds in memory."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from bimcheck import pipeline
from bimcheck.enriching import write_plan
from bimcheck.inputs import Source
from bimcheck.project import Settings, load, parse, resolve
from bimcheck.reconcile.states import reconcile
from bimcheck.result import Result
from bimcheck.write.ifc_enrich import enrich as append
from bimcheck.write.ifc_memory import add_block
from bimcheck.write.strip import strip


def enrich(model: Any, project: Path | str | Mapping[str, Any] | None = None, progress: Callable[[str], None] = lambda text: None) -> Result:
    """Check an open model and add sets and anchors to it; the same results as `bimcheck run` on its file.

    model: ifcopenshell.file.  An earlier block of ours in it is recognised and replaced.  project: path of a project
    file, its content as a mapping, or None.  Raises InputError.
    """
    settings = _settings(project)
    original = strip(model.to_string().encode("utf-8"), "model").data
    with tempfile.TemporaryDirectory(prefix="bimcheck-") as folder:
        path = Path(folder) / "model.ifc"
        path.write_bytes(original)
        run = pipeline.run([Source(path, "model", path)], settings, progress)
        tables = dict(run.result.tables)
        tables["issues"] = reconcile(tables["issues"], tables["elements"])
        plan = write_plan(run.plan, settings, run.result.facts, original)
        done = append(original, run.authors[0], tables, 0, plan)
        add_block(model, b"".join(bytes(p) for p in done.parts))
    return Result(tables, run.result.facts)


def _settings(project: Path | str | Mapping[str, Any] | None) -> Settings:
    if project is None or isinstance(project, (str, Path)):
        return load(Path(project) if project else None)
    return resolve(parse(project), True)
