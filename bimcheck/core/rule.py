"""A rule: a pure vectorised function that names its table, what it reads, what it adds, and its clause.

    @rule("anchors", adds=[Column("N_Ed", "N", "design tension")], clause="EN 1990 6.4.3.2 (6.10)",
          formula="N_Ed = gamma_Q |w| A r + gamma_G N_G", section="actions")
    def tension(w_anchor: MPa, net_area: mm2, share: ratio, *, gamma_Q: float): ...

Positional parameters name columns (own or a parent's) with the unit in the annotation; keyword-only parameters are
settings of the project file's `section` (or `section.key` pairs in `settings`).
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import ModuleType
from typing import Any, get_type_hints

from bimcheck.core.columns import Column
from bimcheck.core.errors import PlanError

REQUIRED = inspect.Parameter.empty


@dataclass(frozen=True)
class Rule:
    """One rule as the kernel sees it; `check` marks a utilisation that takes part in the result."""

    name: str
    table: str
    reads: Mapping[str, str]  # column -> unit
    settings: Mapping[str, tuple[str, Any]]  # parameter -> (dotted key, default)
    adds: tuple[Column, ...]
    clause: str
    formula: str
    function: Callable[..., Any]
    check: bool = False
    mandatory: bool = True
    demand: str = ""  # column names shown as demand and limit of a check
    limit: str = ""
    room: str = ""
    symbols: Mapping[str, str] = field(default_factory=dict)  # symbol of the formula -> column, setting, or "number unit"

    @property
    def summary(self) -> str:
        return (inspect.getdoc(self.function) or "").split("\n\n")[0].replace("\n", " ")


def rule(
    table: str,
    *,
    adds: Sequence[Column],
    clause: str,
    formula: str,
    section: str = "",
    settings: Mapping[str, str] | None = None,
    name: str = "",
    symbols: Mapping[str, str] | None = None,
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Mark a function as a rule; the function itself stays callable as it was.

    symbols: what the formula's symbols stand for where they are not names of columns or settings themselves.
    """

    def mark(function: Callable[..., Any]) -> Callable[..., Any]:
        function.__bimcheck_rule__ = dict(  # type: ignore[attr-defined]
            table=table, adds=tuple(adds), clause=clause, formula=formula, section=section,
            settings=dict(settings or {}), symbols=dict(symbols or {}), name=name or function.__name__.replace("_", "-"),
        )
        return function

    return mark


def check(
    table: str,
    column: str,
    text: str,
    *,
    clause: str,
    formula: str,
    demand: str = "",
    limit: str = "",
    section: str = "",
    settings: Mapping[str, str] | None = None,
    mandatory: bool = True,
    extra: Sequence[Column] = (),
    symbols: Mapping[str, str] | None = None,
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """A rule whose first added column is a utilisation (demand / limit; fails above 1; nan = not checked).

    inf stands for "not applicable can never pass"; -inf or 0 for "nothing to check here".  `demand` and `limit` name
    the columns that are shown beside it.
    """
    adds = (Column(column, "1", text), *extra)
    mark = rule(table, adds=adds, clause=clause, formula=formula, section=section, settings=settings, symbols=symbols)

    def both(function: Callable[..., Any]) -> Callable[..., Any]:
        marked = mark(function)
        marked.__bimcheck_rule__ |= dict(check=True, mandatory=mandatory, demand=demand, limit=limit)  # type: ignore[attr-defined]
        return marked

    return both


def rules_of(module: ModuleType) -> list[Rule]:
    """The rules a module defines, in the order they stand in it."""
    return [_read(f, module.__name__) for f in vars(module).values() if hasattr(f, "__bimcheck_rule__")]


def _read(function: Callable[..., Any], room: str) -> Rule:
    facts = dict(function.__bimcheck_rule__)  # type: ignore[attr-defined]
    section, renamed = facts.pop("section"), facts.pop("settings")
    hints = get_type_hints(function, include_extras=True)
    reads: dict[str, str] = {}
    wanted: dict[str, tuple[str, Any]] = {}
    for parameter in inspect.signature(function).parameters.values():
        if parameter.kind is parameter.KEYWORD_ONLY:
            key = renamed.get(parameter.name) or f"{section}.{parameter.name}".lstrip(".")
            wanted[parameter.name] = (key, parameter.default)
        else:
            meta = getattr(hints.get(parameter.name), "__metadata__", None)
            if not meta:
                raise PlanError(f"rule {facts['name']}: parameter {parameter.name} has no unit", room,
                                "annotate it with a unit of bimcheck.core.units")
            reads[parameter.name] = meta[0]
    return Rule(reads=reads, settings=wanted, function=function, room=room, **facts)
