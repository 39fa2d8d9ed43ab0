"""The one door for rules, finders and writers: entry points, the built-ins among them."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from importlib.metadata import EntryPoint, entry_points
from typing import Any

from bimcheck.core.errors import PlanError

GROUPS = ("bimcheck.rules", "bimcheck.finders", "bimcheck.writers")


def names(group: str) -> list[str]:
    return sorted({e.name for e in entry_points(group=group)})


def load(group: str, name: str) -> Any:
    """The object behind `name`; raises PlanError where there is none or it cannot be imported."""
    found = [e for e in entry_points(group=group) if e.name == name]
    if not found:
        raise PlanError(f"no plug-in '{name}' in {group}", "project file", f"installed: {', '.join(names(group))}")
    return _import(found[0])


def _import(entry: EntryPoint) -> Any:
    try:
        return entry.load()
    except (ImportError, AttributeError) as problem:
        raise PlanError(f"plug-in '{entry.name}' cannot be loaded: {problem}", entry.value, "reinstall it") from problem


def later(where: str) -> Callable[..., Any]:
    """A function of ours, "module:name", imported at its first call: for libraries that not every run or process needs."""
    module, name = where.split(":")
    def call(*given: Any, **named: Any) -> Any:
        return getattr(import_module(module), name)(*given, **named)
    return call
