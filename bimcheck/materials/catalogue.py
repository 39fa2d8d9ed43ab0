"""Material rows: the project's own, completed by generic rows; what was completed is an assumption with a name."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files
from typing import Any

from bimcheck.core.settings import is_hard
from bimcheck.materials.settings import Material, TestedAnchor

UNKNOWN = "unknown"
_ETAS = ("eta_wet", "eta_frost")


@dataclass(frozen=True)
class Row:
    """A complete material row; `assumed` names the settings that nobody stated."""

    name: str
    data: Material
    assumed: tuple[str, ...] = field(default=())

    @property
    def eta(self) -> float:
        """Product of the conditioning factors on the flexural strength (method: R_d = R_k eta / gamma_M)."""
        factors = (self.data.eta_wet, self.data.eta_frost, self.data.eta_age, self.data.eta_direction)
        return 1.0 if self.data.conditioned else _product(factors)


    @property
    def eta_anchor(self) -> float:
        """The same product for anchors whose series was not conditioned itself."""
        return _product((self.data.eta_wet, self.data.eta_frost, self.data.eta_age, self.data.eta_direction))


def _product(factors: tuple[float | None, ...]) -> float:
    value = 1.0
    for factor in factors:
        value *= 1.0 if factor is None else factor
    return value


@cache
def generic() -> Mapping[str, Material]:
    """The generic rows shipped with the package, in their order (the first match wins)."""
    text = files("bimcheck.materials").joinpath("data/generic.toml").read_text(encoding="utf-8")
    return {name: Material(**row) for name, row in tomllib.loads(text).items()}


def rows(stated: Mapping[str, Material]) -> list[Row]:
    """The rows of a run: the project's first, then generic ones for what the project does not name.

    Whatever hard datum a stated row leaves out is taken from the generic row of the same name, else from `unknown`, and
    named in `assumed`; a generic row is assumed as a whole.
    """
    own = [_complete(name, row) for name, row in stated.items()]
    return own + [Row(name, row, (f"materials.{name}",)) for name, row in generic().items() if name not in stated]


def _complete(name: str, row: Material) -> Row:
    base = generic().get(name, generic()[UNKNOWN])
    missing = [key for key, info in Material.model_fields.items() if is_hard(info) and not getattr(row, key)]
    filled: dict[str, Any] = {key: getattr(base, key) for key in missing}
    if row.natural_stone and not (row.conditioned and all(t.conditioned for t in row.anchors)):
        missing += [key for key in _ETAS if getattr(row, key) is None]
        filled |= {key: 0.8 for key in _ETAS if getattr(row, key) is None}
    return Row(name, row.model_copy(update=filled), tuple(f"materials.{name}.{key}" for key in missing))


def match(name: str, table: list[Row]) -> int:
    """Position of the first row one of whose globs matches the material name, ignoring case; -1 where none does."""
    low = name.casefold()
    for i, row in enumerate(table):
        if low and any(fnmatchcase(low, glob.casefold()) for glob in row.data.match):
            return i
    return -1


@dataclass(frozen=True)
class TestGroup:
    """Tests of one material at one thickness, embedment and spacing, by rising edge distance."""

    material: int
    thickness: float
    embedment: float
    spacing: float  # nan where anchors were tested singly
    tests: tuple[TestedAnchor, ...]
    eta: float = 1.0  # product of conditioning factors, for tests that were not conditioned


def test_groups(table: list[Row]) -> list[TestGroup]:
    """All tested combinations, grouped; the order is that of the rows."""
    groups: dict[tuple[int, float, float, float], list[TestedAnchor]] = {}
    for i, row in enumerate(table):
        for test in row.data.anchors:
            key = (i, test.thickness_mm, test.embedment_mm, test.spacing_mm or float("nan"))
            groups.setdefault(_hashable(key), []).append(test)
    return [TestGroup(int(k[0]), k[1], k[2], float("nan") if k[3] < 0 else k[3],
                      tuple(sorted(v, key=lambda t: t.edge_mm)), table[int(k[0])].eta_anchor) for k, v in groups.items()]


def _hashable(key: tuple[int, float, float, float]) -> tuple[int, float, float, float]:
    return (*key[:3], -1.0 if key[3] != key[3] else key[3])
