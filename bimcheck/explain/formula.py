"""The formulas of rules: read, put in numbers, and worked out, so that what is printed is what holds.

A formula is a list of statements `symbol = expression`, with ";" between them; what is no statement is prose.  Products are
written by a space; + - / ^ ( ) |x| max min sqrt ln log10 as usual.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from bimcheck.explain.quantity import NONE, Quantity

Node = tuple  # ("num", text) ("sym", name) ("neg", a) ("+" "-" "*" "/" "^", a, b) ("call", name, args)
FUNCTIONS: dict[str, Callable[..., Any]] = {"max": max, "min": min, "sqrt": math.sqrt, "ln": math.log, "log10": math.log10, "abs": abs}
CONSTANTS = {"pi": Quantity(math.pi)}
_TOKEN = re.compile(r"\s*(?:(\d+(?:\.\d+)?(?:e-?\d+)?)|([A-Za-z_][A-Za-z_0-9]*)|([-+*/^(),|]))")
_RANK = {"+": 1, "-": 1, "*": 2, "/": 2, "neg": 3, "^": 4}


class NoFormula(ValueError):
    """Prose, or an expression in symbols that nothing is known of."""


@dataclass(frozen=True)
class Statement:
    """left: the symbol; right: the tree; text: as written."""

    left: str
    right: Node
    text: str


def statements(formula: str) -> tuple[list[Statement], list[str]]:
    """The statements of a formula, in their order, and the prose beside them."""
    found, prose = [], []
    for part in filter(None, map(str.strip, formula.split(";"))):
        left, equals, right = part.partition(" = ")
        try:
            if not equals or not left.isidentifier():
                raise NoFormula(part)
            found.append(Statement(left, parse(right), part))
        except NoFormula:
            prose.append(part)
    return found, prose


def parse(text: str) -> Node:
    """The tree of an expression; raises NoFormula for prose."""
    tokens, at = [], 0
    text = text.strip()
    while at < len(text):
        match = _TOKEN.match(text, at)
        if not match:
            raise NoFormula(text)
        tokens.append(next((kind, value) for kind, value in zip(("num", "sym", "op"), match.groups(), strict=True) if value))
        at = match.end()
    reader = _Reader(tokens)
    tree = reader.sum()
    if reader.rest:
        raise NoFormula(text)
    return tree


@dataclass
class _Reader:
    tokens: list[tuple[str, str]]
    at: int = 0
    bars: int = 0

    @property
    def rest(self) -> bool:
        return self.at < len(self.tokens)

    def peek(self, *ops: str) -> bool:
        return self.rest and self.tokens[self.at][0] == "op" and self.tokens[self.at][1] in ops

    def take(self) -> tuple[str, str]:
        if not self.rest:
            raise NoFormula("unfinished")
        self.at += 1
        return self.tokens[self.at - 1]

    def expect(self, op: str) -> None:
        if not self.peek(op):
            raise NoFormula(f"no {op}")
        self.at += 1

    def sum(self) -> Node:
        tree = self.product()
        while self.peek("+", "-"):
            tree = (self.take()[1], tree, self.product())
        return tree

    def product(self) -> Node:
        tree = self.power()
        while self.rest and not self.peek("+", "-", ")", ",") and not (self.bars and self.peek("|")):
            op = self.take()[1] if self.peek("*", "/") else "*"
            tree = (op, tree, self.power())
        return tree

    def power(self) -> Node:
        if self.peek("-"):
            self.take()
            return ("neg", self.power())
        base = self.atom()
        if self.peek("^"):
            self.take()
            return ("^", base, self.power())
        return base

    def atom(self) -> Node:
        kind, value = self.take()
        if kind == "num":
            return ("num", value)
        if kind == "sym":
            return self.call(value) if value in FUNCTIONS and self.peek("(") else ("sym", value)
        if value == "(":
            outer, self.bars = self.bars, 0
            tree = self.sum()
            self.expect(")")
            self.bars = outer
            return tree
        if value == "|" and not self.bars:
            self.bars = 1
            tree = self.sum()
            self.bars = 0
            self.expect("|")
            return ("call", "abs", (tree,))
        raise NoFormula(value)

    def call(self, name: str) -> Node:
        self.expect("(")
        outer, self.bars = self.bars, 0
        arguments = [self.sum()]
        while self.peek(","):
            self.take()
            arguments.append(self.sum())
        self.expect(")")
        self.bars = outer
        return ("call", name, tuple(arguments))


def symbols(tree: Node) -> set[str]:
    if tree[0] == "sym":
        return {tree[1]}
    parts = tree[2] if tree[0] == "call" else tree[1:]
    return set().union(*(symbols(p) for p in parts if isinstance(p, tuple)), set())


def value(tree: Node, known: Mapping[str, Quantity]) -> Quantity:
    """What an expression comes to; raises NoFormula for an unknown symbol or unlike dimensions."""
    kind = tree[0]
    if kind == "num":
        return Quantity(float(tree[1]))
    if kind == "sym":
        found = known.get(tree[1]) or CONSTANTS.get(tree[1])
        if found is None:
            raise NoFormula(tree[1])
        return found
    if kind == "neg":
        inner = value(tree[1], known)
        return replace(inner, value=-inner.value)
    if kind == "call":
        return _called(tree[1], [value(a, known) for a in tree[2]])
    return _joined(kind, value(tree[1], known), value(tree[2], known))


def _called(name: str, arguments: list[Quantity]) -> Quantity:
    first = next((a for a in arguments if a.value != 0), arguments[0])
    if any(a.value != 0 and a.dims != first.dims for a in arguments):
        raise NoFormula(f"{name} of unlike quantities")
    try:
        result = FUNCTIONS[name](*(a.value for a in arguments))
    except ValueError as problem:
        raise NoFormula(name) from problem
    if name == "sqrt":
        return Quantity(result, _times(first.dims, 0.5))
    return Quantity(result, NONE if name in ("ln", "log10") else first.dims, first.per_width)


def _joined(op: str, a: Quantity, b: Quantity) -> Quantity:
    if op in "+-":
        if a.dims != b.dims and a.value != 0 and b.value != 0:
            raise NoFormula("a sum of unlike quantities")
        like = a if a.value != 0 else b
        return Quantity(a.value + b.value if op == "+" else a.value - b.value, like.dims, a.per_width or b.per_width)
    if op == "^":
        return Quantity(a.value**b.value, _times(a.dims, b.value)) if a.value >= 0 or b.value == int(b.value) else Quantity(math.nan)
    sign = 1 if op == "*" else -1
    dims = tuple(p + sign * q for p, q in zip(a.dims, b.dims, strict=True))
    if op == "/" and b.value == 0:
        return Quantity(math.nan if a.value == 0 else math.inf, dims)  # type: ignore[arg-type]
    one = (a.per_width and b.dims == NONE) or (op == "*" and b.per_width and a.dims == NONE)
    return Quantity(a.value * b.value if op == "*" else a.value / b.value, dims, one)  # type: ignore[arg-type]


def _times(dims: tuple[float, ...], by: float) -> tuple[float, float, float, float]:
    return tuple(d * by for d in dims)  # type: ignore[return-value]


def written(tree: Node, known: Mapping[str, Quantity], units: str, rank: int = 0) -> str:
    """The expression with numbers and units for symbols."""
    kind = tree[0]
    if kind == "num":
        return str(tree[1])
    if kind == "sym":
        return "pi" if tree[1] == "pi" else _figure(known[tree[1]], units, rank)
    if kind == "call":
        inside = ", ".join(written(a, known, units) for a in tree[2])
        return f"|{inside}|" if tree[1] == "abs" else f"{tree[1]}({inside})"
    own = _RANK[kind]
    if kind == "neg":
        text = f"-{written(tree[1], known, units, own)}"
    else:
        between = {"*": " x ", "^": "^"}.get(kind, f" {kind} ")
        text = written(tree[1], known, units, own + (kind == "^")) + between + written(tree[2], known, units, own + (kind in "-/"))
    return f"({text})" if own < rank else text


def _figure(q: Quantity, units: str, rank: int) -> str:
    text = q.shown(units)
    return f"({text})" if (q.value < 0 and rank > 0) or (rank > _RANK["^"] and " " in text) else text


@dataclass
class Worked:
    """Statements in numbers: symbol, formula, numbers, result; and the quantities that they define."""

    lines: list[tuple[str, str, str, Quantity]] = field(default_factory=list)
    known: dict[str, Quantity] = field(default_factory=dict)


def worked(found: list[Statement], given: Mapping[str, Quantity], units: str) -> Worked:
    """Work out every statement whose symbols are known or follow from other statements, causes before what rests on them."""
    out = Worked(known=dict(given))
    waiting = [s for s in found if s.left not in given]
    while waiting:
        ready = next((s for s in waiting if symbols(s.right) - CONSTANTS.keys() <= out.known.keys()), None)
        if ready is None:
            break
        waiting.remove(ready)
        try:
            result = value(ready.right, out.known)
        except NoFormula:
            continue
        out.lines.append((ready.left, ready.text, written(ready.right, out.known, units), result))
        out.known[ready.left] = result
    return out
