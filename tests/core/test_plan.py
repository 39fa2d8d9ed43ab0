"""The kernel refuses before work: missing columns, doubles, unit clashes, circles, settings."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.core.columns import Column
from bimcheck.core.errors import PlanError
from bimcheck.core.plan import make_plan
from bimcheck.core.rule import REQUIRED, Rule, check, rule, rules_of
from bimcheck.core.tables import Ragged, Table, gather, segment
from bimcheck.core.units import Array, MPa, N, mm, mm2

GIVEN = [Column("t", "mm", "thickness", "panels"), Column("A", "mm2", "area", "panels"),
         Column("R", "N", "reaction", "anchors", "wave")]


@rule("panels", adds=[Column("t2", "mm2", "thickness squared")], clause="test", formula="t^2")
def squared(t: mm) -> Array:
    """t squared."""
    return t**2


@check("anchors", "u_pull", "pull", clause="test", formula="u = R / (t2 f)", section="things")
def pull(R: N, t2: mm2, *, f: float) -> Array:
    """A check that reads a parent's column that another rule adds."""
    return R / (t2 * f)


@rule("panels", adds=[Column("t2", "mm2", "again")], clause="test", formula="t^2")
def squared_again(t: mm) -> Array:
    return t**2


@rule("panels", adds=[Column("x", "MPa", "wrong")], clause="test", formula="")
def wrong_unit(t: MPa) -> Array:
    return t


@rule("panels", adds=[Column("a", "1", "a")], clause="test", formula="")
def first(b: mm) -> Array:
    return b


@rule("panels", adds=[Column("b", "mm", "b")], clause="test", formula="")
def second(a: mm) -> Array:
    return a


class _Module:
    __name__ = "somewhere"

    def __init__(self, *functions: object) -> None:
        self.__dict__.update({str(i): f for i, f in enumerate(functions)})
        self.__dict__["__name__"] = "somewhere"


def _rules(*functions: object) -> list[Rule]:
    return rules_of(_Module(*functions))  # type: ignore[arg-type]


def test_rules_are_ordered_by_what_they_read_and_run_in_their_phase() -> None:
    plan = make_plan(_rules(pull, squared), GIVEN, {"things.f": 2.0})
    assert [s.rule.name for s in plan.steps] == ["squared", "pull"]
    assert [s.phase for s in plan.steps] == ["panels", "wave"]
    panels = plan.run("panels", {"panels": Table("panels", 2, {"t": np.array([2.0, 3.0]), "A": np.ones(2)})})["panels"]
    candidates = Table("candidates", 1, {"panel": np.array([1])})
    anchors = Table("anchors", 2, {"candidate": np.array([0, 0]), "R": np.array([9.0, 18.0])})
    done = plan.run("wave", {"panels": panels, "candidates": candidates, "anchors": anchors})
    assert done["anchors"]["u_pull"].tolist() == [0.5, 1.0]  # 9 / (3^2 * 2), 18 / (3^2 * 2)


@pytest.mark.parametrize(("functions", "says"), [
    ((squared, squared_again), "added twice"), ((wrong_unit,), "in MPa, it is mm"), ((first, second), "wait for one another"),
    ((first,), "nothing adds"),
])
def test_the_plan_fails_before_work(functions: tuple[object, ...], says: str) -> None:
    with pytest.raises(PlanError, match=says):
        make_plan(_rules(*functions), GIVEN, {})


def test_a_setting_without_a_value_is_refused() -> None:
    assert _rules(pull)[0].settings == {"f": ("things.f", REQUIRED)}
    with pytest.raises(PlanError, match=r"things\.f"):
        make_plan(_rules(squared, pull), GIVEN, {})


def test_a_parameter_without_a_unit_is_refused() -> None:
    @rule("panels", adds=[Column("z", "1", "z")], clause="test", formula="")
    def bare(t) -> Array:  # type: ignore[no-untyped-def]
        return t

    with pytest.raises(PlanError, match="no unit"):
        _rules(bare)


def test_gather_follows_the_parents_and_ragged_rows() -> None:
    panels = Table("panels", 2, {"r": Ragged.of([np.array([1.0]), np.array([2.0, 3.0])])})
    candidates = Table("candidates", 3, {"panel": np.array([1, 0, 1])})
    found = gather({"panels": panels, "candidates": candidates}, "candidates", "r")
    assert [row.tolist() for row in found] == [[2.0, 3.0], [1.0], [2.0, 3.0]]
    assert gather({"panels": panels}, "panels", "nothing") is None


def test_segment_propagates_nan_and_fills_empty_groups() -> None:
    got = segment(np.maximum, np.array([1.0, np.nan, 5.0]), np.array([0, 0, 2]), 3, -1.0)
    assert np.isnan(got[0]) and got[1:].tolist() == [-1.0, 5.0]


def test_tables_refuse_columns_of_another_length() -> None:
    with pytest.raises(ValueError, match="expected 2"):
        Table("panels", 2, {"t": np.ones(3)})
