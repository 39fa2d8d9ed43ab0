"""Groups of specimens that must not be mixed, and what each says on its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.pullout.columns import FLEXURAL
from bimcheck.pullout.outliers import Grubbs, grubbs
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.statistics import (
    Characteristic,
    Description,
    Normality,
    Sample,
    characteristic,
    describe,
    normality,
)

KEYS = ("test", "material", "thickness", "colour", "batch", "position", "condition", "direction", "embedment", "edge",
        "spacing", "ring", "standard")


@dataclass(frozen=True)
class Group:
    """Rows of the series table that share a key, with their evaluation.  Values in N (pull-out) or MPa (flexural)."""

    id: str
    key: dict[str, Any]
    rows: NDArray[np.int64]
    x: Sample
    described: Description
    outlier: Grubbs
    normality: Normality
    characteristic: Characteristic

    @property
    def flexural(self) -> bool:
        return self.key["test"] == FLEXURAL

    @property
    def least_thickness(self) -> float:
        return self.key["least_thickness"]

    @property
    def conditioned(self) -> bool:
        return self.key["condition"] not in ("", "dry")

    @property
    def label(self) -> str:
        return label(self.key)


def label(key: dict[str, Any]) -> str:
    """'granite 30 mm, grey, batch A, dry, tension, embedment 15 mm, edge 100 mm'."""
    parts = [f"{key['material']} {key['thickness']:g} mm", key["colour"], _named("batch", key["batch"]),
             _named("position", key["position"]), key["condition"], key["direction"]]
    parts += [f"{name} {key[name]:g} mm" for name in ("embedment", "edge", "spacing", "ring") if key[name] == key[name]]
    return ", ".join(filter(None, [*parts, key["standard"]]))


def _named(name: str, value: str) -> str:
    return f"{name} {value}" if value else ""


def keys_of(table: Table) -> list[tuple[Any, ...]]:
    """The key of each row; a position that is a number is a coordinate, not a key."""
    columns = {name: table[name] for name in KEYS}
    columns["position"] = np.where(np.isnan(coordinates(table)), columns["position"], "")
    return [tuple(_hashable(v) for v in row) for row in zip(*(columns[name] for name in KEYS), strict=True)]


def coordinates(table: Table) -> NDArray[np.float64]:
    """(n,) position along the quarry face, nan where none is stated; all nan where any of them is a name."""
    try:
        return np.array([float(str(text).replace(",", ".")) if text else np.nan for text in table["position"]])
    except ValueError:
        return np.full(table.n, np.nan)


def _hashable(value: Any) -> Any:
    """nan is one value, so that rows without spacing or ring fall together; sizes to a hundredth of a millimetre."""
    if isinstance(value, str):
        return value
    return None if np.isnan(value) else round(float(value), 2)


def groups_of(table: Table, settings: Qualification) -> list[Group]:
    """In the order in which they first stand in the file."""
    members: dict[tuple[Any, ...], list[int]] = {}
    for row, key in enumerate(keys_of(table)):
        members.setdefault(key, []).append(row)
    width = len(str(len(members)))
    return [_group(f"G{i:0{width}d}", key, table, np.array(rows), settings)
            for i, (key, rows) in enumerate(members.items(), start=1)]


def _group(name: str, values: tuple[Any, ...], table: Table, rows: NDArray[np.int64], settings: Qualification) -> Group:
    key = {k: float("nan") if v is None else v for k, v in zip(KEYS, values, strict=True)}
    key["least_thickness"] = float(np.nanmin(np.r_[table["measured_thickness"][rows], key["thickness"]]))
    return evaluate(name, key, rows, table["value"][rows], settings)


def evaluate(name: str, key: dict[str, Any], rows: NDArray[np.int64], x: Sample, settings: Qualification) -> Group:
    """A group of the values x.  The outlier test looks at logarithms where the distribution is log-normal."""
    distribution = settings.flexural_distribution if key["test"] == FLEXURAL else settings.distribution
    described = describe(x)
    tested = np.log(x) if distribution == "lognormal" else x
    return Group(name, key, rows, x, described, grubbs(tested, settings.outlier_side, settings.outlier_alpha),
                 normality(x), characteristic(described, settings, distribution))


def agreeing(group: Group, ignoring: Sequence[str]) -> tuple[Any, ...]:
    """What the group shares with others that agree in everything but `ignoring`."""
    return tuple(_hashable(group.key[k]) for k in KEYS if k not in ignoring)


def families(groups: Sequence[Group], ignoring: Sequence[str]) -> list[list[Group]]:
    """Groups that agree in everything but `ignoring`, two or more each."""
    found: dict[tuple[Any, ...], list[Group]] = {}
    for group in groups:
        found.setdefault(agreeing(group, ignoring), []).append(group)
    return [family for family in found.values() if len(family) > 1]
