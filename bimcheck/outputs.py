"""Everything a run writes, each file whole or not at all; the inputs are never touched."""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck import store
from bimcheck.assemble import judged
from bimcheck.core import plugins
from bimcheck.core.beside import Beside
from bimcheck.core.errors import InputError
from bimcheck.core.memory import peak_MB
from bimcheck.core.plan import Plan
from bimcheck.core.tables import Table
from bimcheck.enriching import write_enriched
from bimcheck.inputs import Source
from bimcheck.layout.marks import codes, drilling_keys
from bimcheck.pipeline import Run
from bimcheck.project import Settings
from bimcheck.reconcile.scope import scope_of
from bimcheck.reconcile.states import reconcile
from bimcheck.result import Result
from bimcheck.write.issue_rows import issue_rows
from bimcheck.write.standardisation import told
from bimcheck.write.tables import anchor_rows, panel_rows, write_csv
from bimcheck.write.workbook_issues_lock import refuse_open

# The workbook's libraries load in the process that writes it, and where an earlier workbook is read.
read_typed = plugins.later("bimcheck.write.workbook_issues_read:read_typed")
write_issues_workbook = plugins.later("bimcheck.write.workbook_issues:write_issues_workbook")
NAMES = ("elevations", "drilling", "fabrication", "standardisation", "substructure")  # further outputs that the demo shows
_FROM_BEFORE = {"issues": (), "panels": ("drill_key", "drill_mark"), "elements": ("guid", "model")}  # what is compared with an earlier run
_RANK = {"error": 2, "warning": 1, "info": 0}


@dataclass(frozen=True)
class Output:
    """Where results go. previous: folder of the earlier run (None: the output folder's own)."""

    folder: Path
    previous: Path | None = None
    fail_on: str = "error"
    units: str | None = None
    more: tuple[str, ...] = ()


@contextmanager
def prepared(output: Output, models: Sequence[Path]) -> Iterator[None]:
    """The output folder, made; taken away again where the run is refused and nothing was in it.

    Raises InputError, before any work, where the folder is foreign, cannot be written, holds an input under an output's
    name, or where there is no earlier run to compare with.
    """
    folder = output.folder
    if output.previous is not None and not os.access(output.previous / store.FILE, os.R_OK):
        raise InputError("no earlier run there that can be read", str(output.previous), "pass the output folder of an earlier run")
    try:
        _refuse_inputs(folder, models)
        refuse_open(folder / "issues.xlsx")
        made = _made(folder)
    except OSError as problem:
        raise InputError(f"cannot be written: {problem.strerror}", str(problem.filename or folder), "name another folder with -o") from problem
    try:
        yield
    except BaseException:
        for new in made:
            with suppress(OSError):  # something is in it: it stays
                new.rmdir()
        raise


def _made(folder: Path) -> list[Path]:
    """Make the folder; returns what was not there before, the innermost first."""
    if folder.exists() and not folder.is_dir():
        raise InputError("the output is a file", str(folder), "name a folder with -o")
    if folder.is_dir() and any(folder.iterdir()) and not (folder / "run.json").is_file():
        raise InputError("the folder is not empty and holds no run of bimcheck", str(folder), "name an empty or new folder with -o")
    made = [p for p in (folder, *folder.parents) if not p.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    probe = folder / ".bimcheck-writing"
    probe.touch()
    probe.unlink()
    return made


def _refuse_inputs(folder: Path, models: Sequence[Path]) -> None:
    for model in models:
        if model.resolve().parent == folder.resolve() and not model.name.endswith(".enriched.ifc") and os.path.exists(model):
            raise InputError("the input lies in the output folder", str(model), "name another folder with -o")


def _previous(output: Output) -> Result | None:
    folder = output.previous or output.folder
    return store.load(folder, _FROM_BEFORE) if (folder / store.FILE).is_file() else None


def write_all(run: Run, sources: Sequence[Source], settings: Settings, output: Output, progress: Callable[[str], None]) -> dict[str, Any]:
    """Write every output; returns the summary that run.json holds."""
    folder = output.folder
    workbook = folder / "issues.xlsx"
    with run.clock.stage("reconcile"):
        before = _previous(output)
        books = [workbook] + ([output.previous / workbook.name] if output.previous else [])
        typed = next((read_typed(b) for b in books if b.is_file()), None)
        tables = dict(run.result.tables)
        earlier = before.tables if before else {}
        scope = scope_of(run.result.facts, earlier.get("elements"), before.facts if before else None)
        tables["issues"] = reconcile(tables["issues"], tables["elements"], earlier.get("issues"), typed, scope)
        tables["panels"] = judged(tables["panels"], tables["issues"])
        tables["panels"] = _marked(tables, before)
    facts = {**run.result.facts, "units": output.units or settings.project.write.units}
    facts |= _summary(tables, facts, output, settings)
    result = Result(tables, facts)
    files: list[str] = []
    beside = Beside([lambda: store.save(result, folder), lambda: write_issues_workbook(workbook, result)])
    with run.clock.stage("write ifc"):
        for i, source in enumerate(sources):
            original = source.original(run.read.models[i].opened.sha256)
            files.append(write_enriched(folder / f"{source.base}.enriched.ifc", original, run.authors[i], tables, i, run.plan, settings, facts).name)
    with run.clock.stage("write tables"):
        _write_tables(tables, run.plan, folder)
    with run.clock.stage("wait for store and workbook"):
        beside.wait()
    files += ["panels.csv", "anchors.csv", "issues.csv", "issues.xlsx", store.FILE]
    with run.clock.stage("write more"):
        files += more_outputs(result, folder, [*settings.project.write.outputs, *output.more])
    summary = {**facts, "files": [*files, "run.json"], "folder": str(folder), "seconds": run.clock.seconds, "peak_memory_MB": peak_MB()}
    _write_json(folder / "run.json", {k: v for k, v in summary.items() if k not in ("rules", "columns", "given", "folder")})
    return summary


def _write_tables(tables: Mapping[str, Table], plan: Plan, folder: Path) -> None:
    write_csv(folder / "panels.csv", *panel_rows(tables["elements"], tables["panels"], [r.adds[0].name for r in plan.checks()]))
    write_csv(folder / "anchors.csv", *anchor_rows(tables, [r.adds[0].name for r in plan.checks("anchors")]))
    write_csv(folder / "issues.csv", *issue_rows(tables["issues"], tables["elements"]))


def more_outputs(result: Result, folder: Path, names: Sequence[str]) -> list[str]:
    """Run writers by name; returns the files written, relative to the folder."""
    written = [path for name in dict.fromkeys(names) for path in plugins.load("bimcheck.writers", name)(result, folder)]
    return [str(Path(p).relative_to(folder)) for p in written]


def _write_json(path: Path, data: Mapping[str, Any]) -> None:
    part = path.with_name(path.name + ".part")
    part.write_text(json.dumps(data, indent=1, sort_keys=True, default=str) + "\n", encoding="utf-8")
    os.replace(part, path)


def _marked(tables: Mapping[str, Table], before: Result | None) -> Table:
    panels = tables["panels"]
    old = before.tables.get("panels") if before else None
    known = dict(zip(old["drill_key"].tolist(), old["drill_mark"].tolist(), strict=True)) if old is not None and "drill_key" in old else {}
    keys = drilling_keys(panels, tables["anchors"], np.arange(panels.n))
    passing = (panels["result"] == "pass").tolist()
    code = codes(sorted({k for k, ok in zip(keys, passing, strict=True) if k and ok}), known)
    mark = [code.get(k, "") if ok else "" for k, ok in zip(keys, passing, strict=True)]
    return panels.with_columns(drill_mark=np.array(mark, dtype=object), drill_key=np.array(keys, dtype=object))


def _summary(tables: Mapping[str, Table], facts: Mapping[str, Any], output: Output, settings: Settings) -> dict[str, Any]:
    panels, issues = tables["panels"], tables["issues"]
    results = {k: int((panels["result"] == k).sum()) for k in ("pass", "fail", "not_checked")}
    live = np.isin(issues["state"].astype(str), ["new", "open"]) if issues.n else np.zeros(0, dtype=bool)
    severities = Counter(issues["severity"][live].tolist()) if issues.n else Counter()
    reached = any(_RANK[s] >= _RANK[output.fail_on] for s in severities)
    status = 2 if not panels.n else int(reached or results["fail"] > 0 or results["not_checked"] > 0)
    why = Counter(part for text in panels["reason"][panels["result"] == "not_checked"] for part in str(text).split("; ") if part)
    advice = [] if panels.n else ["no panel in the whole run: see panels.csv for the reasons, `bimcheck inspect MODEL` for candidates, and [selection] in the project file"]
    return {"results": results, "sharing": told(tables["standardisation"]), "issues": {s: severities[s] for s in ("error", "warning", "info") if severities[s]}, "anchors": tables["anchors"].n,
            "not_checked": dict(why.most_common()), "advice": advice, "exit_status": status, "fail_on": output.fail_on}
