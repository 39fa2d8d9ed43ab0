"""Who may import whom (DEVELOPERS.md), file sizes, and what a rule file may touch."""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path

import pytest

from bimcheck.write.rule_names import ISSUE_RULES

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "bimcheck"
STAGES = {"read", "relate", "materials", "hardware", "wind", "plate", "layout", "actions", "resistances", "checks",
          "clash", "pullout", "write", "samples"}
OUTER = {"pipeline", "project", "store", "cli", "commands", "explain"}
# Libraries that belong to one room each.
HOMES = {"ifcopenshell": ("read/", "write/ifc", "samples/", "write/ids"), "ifctester": ("read/", "write/ids"),
         "xlsxwriter": ("write/", "pullout/"), "openpyxl": ("write/", "pullout/"), "ezdxf": ("write/",),
         "matplotlib": ("write/", "pullout/"), "pandas": ("pullout/", "commands/")}


def _files() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def _imports(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {f"{node.module}.{a.name}" for a in node.names} | {node.module}
    return names


def _room(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def test_it_looks_at_files() -> None:
    assert len(_files()) > 20


@pytest.mark.parametrize("path", _files(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_keep_to_the_rooms(path: Path) -> None:
    room = _room(path)
    inner = {n.split(".")[1] for n in _imports(path) if n.startswith("bimcheck.") and n.count(".") >= 1}
    if room == "core":
        assert inner <= {"core"}
    elif room in STAGES:
        assert inner <= {"core", room}, f"{room} reaches into {inner - {'core', room}}"
    elif room in {"project", "store"}:
        assert not inner & {"pipeline", "cli", "commands"}


@pytest.mark.parametrize("path", _files(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_libraries_keep_to_their_homes(path: Path) -> None:
    where = path.relative_to(PACKAGE).as_posix()
    for library in {n.split(".")[0] for n in _imports(path)} & HOMES.keys():
        assert where.startswith(HOMES[library]), f"{where} imports {library}"


@pytest.mark.parametrize("path", _files(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_files_are_short_and_without_global(path: Path) -> None:
    source = path.read_text(encoding="utf-8")
    assert source.count("\n") <= 300
    assert not any(isinstance(node, ast.Global) for node in ast.walk(ast.parse(source)))


def test_every_data_file_is_in_the_package_that_is_installed() -> None:
    patterns = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["package-data"]["*"]
    files = [p for p in PACKAGE.rglob("*") if p.is_file() and p.suffix not in {".py", ".pyc"}]
    assert files
    assert [p.name for p in files if not any(p.match(pattern) for pattern in patterns)] == []


def test_every_rule_of_an_issue_is_explained() -> None:
    found = {name for path in _files() for name in re.findall(r'Issue\(\s*"([a-z-]+)"', path.read_text(encoding="utf-8"))}
    assert len(found) > 10 and found <= ISSUE_RULES.keys()
