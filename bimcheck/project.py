"""The project file: one TOML file, validated, with every default's source; what nobody stated has a name."""

from __future__ import annotations

import difflib
import hashlib
import json
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, Field, ValidationError

from bimcheck.actions.settings import Actions, Movement, Seismic
from bimcheck.checks.settings import Checks
from bimcheck.clash.settings import Clash
from bimcheck.core.errors import InputError
from bimcheck.core.settings import Section, facts, is_hard, setting
from bimcheck.hardware.catalogue import catalogue
from bimcheck.hardware.settings import Catalogue, Item
from bimcheck.layout.settings import Drilling, Layout
from bimcheck.materials.catalogue import Row, rows, test_groups
from bimcheck.materials.settings import Material
from bimcheck.project_files import beside, hashes
from bimcheck.pullout.standing import standings
from bimcheck.read.settings import Model, Reading, Recognition, Selection
from bimcheck.relate.settings import Joints, Relate
from bimcheck.wind.settings import Wind
from bimcheck.write.ifc_settings import Ifc

RULES = ["weight", "seismic", "forces", "plate-resistance", "anchor-resistance", "plate-checks", "anchor-checks",
         "drilling-checks", "joint-checks", "robustness-checks"]


class Write(Section):
    """Further outputs and how they read."""

    outputs: list[str] = setting([], "further outputs beside the standard ones, by name: " "see `bimcheck write --help`", source="user's choice")
    units: str = setting("si", "units of workbooks, pictures and reports: si or us", source="user's choice")


class Plugins(Section):
    """Rules, finders and writers that take part; installed plug-ins are added by name."""

    rules: list[str] = setting(RULES, "rule modules, by entry-point name; the wind standard is chosen in [wind]", source="user's choice")
    finders: list[str] | None = setting(None, "finders, by entry-point name; left out: all installed with bimcheck", source="user's choice")
    more_rules: list[str] = setting([], "rule modules of installed plug-ins, added to `rules`", source="user's choice")


class Project(Section):
    """All sections.  `extra` holds a table for each plug-in."""

    model: Model = Model()
    selection: Selection = Selection()
    reading: Reading = Reading()
    recognition: Recognition = Recognition()
    relate: Relate = Relate()
    joints: Joints = Joints()
    wind: Wind = Wind()
    actions: Actions = Actions()
    movement: Movement = Movement()
    seismic: Seismic = Seismic()
    checks: Checks = Checks()
    layout: Layout = Layout()
    drilling: Drilling = Drilling()
    catalogue: Catalogue = Catalogue()
    clash: Clash = Clash()
    ifc: Ifc = Ifc()
    write: Write = Write()
    plugins: Plugins = Plugins()
    materials: dict[str, Material] = Field(default_factory=dict)
    hardware: dict[str, Item] = Field(default_factory=dict)
    extra: dict[str, dict[str, Any]] = Field(default_factory=dict)


@dataclass(frozen=True)
class Settings:
    """A project resolved for a run.

    project: sections with assumed values filled in.  values: dotted key -> value, for rules.  assumed: dotted keys of
    hard data that nobody stated.  materials: complete rows.  items: catalogue.  stated: whether a file was given.
    """

    project: Project
    values: Mapping[str, Any]
    assumed: frozenset[str]
    materials: list[Row]
    items: Mapping[str, Item]
    stated: bool
    sha256: str


def load(path: Path | None) -> Settings:
    """Read and validate a project file (None: all defaults); raises InputError with the nearest known key."""
    return resolve(parse(_text(path), str(path)) if path else Project(), path is not None, path.parent if path else None)


def _text(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(f"cannot be read: {problem}", str(path), "check the path, or make one with `bimcheck init -o FILE`") from problem
    except tomllib.TOMLDecodeError as problem:
        raise InputError(f"not valid TOML: {problem}", str(path), "correct the line") from problem


def parse(data: Mapping[str, Any], where: str = "project") -> Project:
    """Validate; raises InputError for the first fault."""
    try:
        return Project(**data)
    except ValidationError as problem:
        raise InputError(*_first_fault(problem, where)) from problem


def _first_fault(problem: ValidationError, where: str) -> tuple[str, str, str]:
    fault = problem.errors()[0]
    path = [str(p) for p in fault["loc"]]
    key = ".".join(path)
    if fault["type"] == "extra_forbidden":
        near = difflib.get_close_matches(path[-1], _keys_at(path[:-1]), 1, 0.5)
        return f"unknown key '{key}'", where, f"did you mean '{near[0]}'?" if near else "see `bimcheck init` for all keys"
    if path[0] == "hardware" and len(path) == 2:
        return f"[hardware] {path[1]} is no item", where, "items are tables, [hardware.NAME]; a file of items is named at [catalogue] items_csv"
    return f"{key} = {fault.get('input')!r}: {fault['msg']}", where, "see `bimcheck init` for its meaning and unit"


def _keys_at(path: list[str]) -> list[str]:
    model: Any = Project
    for part in path:
        info = model.model_fields.get(part)
        model = {"materials": Material, "hardware": Item}.get(part, info.annotation if info else model)
    return list(model.model_fields) if isinstance(model, type) and issubclass(model, BaseModel) else []


def resolve(project: Project, stated: bool, base: Path | None = None) -> Settings:
    """Fill in what is assumed, flatten for the rules."""
    assumed: list[str] = []
    filled = {}
    for name, section in _sections(project):
        missing = [k for k, info in type(section).model_fields.items() if is_hard(info) and getattr(section, k) is None]
        assumed += [f"{name}.{k}" for k in missing]
        filled[name] = section.model_copy(update={k: facts(type(section).model_fields[k])["assumed"] for k in missing})
    table = rows(project.materials)
    stated_as = project.model_copy(update=filled)
    filled = {name: beside(name, section, base) for name, section in filled.items()}
    whole = project.model_copy(update=filled)
    values = {f"{name}.{k}": getattr(section, k) for name, section in _sections(whole) for k in type(section).model_fields}
    values |= {f"extra.{name}.{k}": v for name, keys in project.extra.items() for k, v in keys.items()}
    values["materials.tests"] = test_groups(table)
    values["materials.series"] = standings(table, base)
    content = {"project": stated_as.model_dump(mode="json"), "files": hashes(filled)}  # the same wherever the folder lies
    items, own = catalogue(project.hardware, whole.catalogue)
    if not own:
        assumed.append("hardware")
    digest = hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()
    return Settings(whole, values, frozenset(assumed), table, items, stated, digest)


def _sections(project: Project) -> Iterator[tuple[str, Section]]:
    for name in Project.model_fields:
        value = getattr(project, name)
        if isinstance(value, Section):
            yield name, value
