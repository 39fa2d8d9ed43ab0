"""States from run to run.  Expected values follow from the definitions in the docstrings of bimcheck.reconcile.states."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table
from bimcheck.reconcile.states import identities, reconcile, standing
from tests.reconcile.made import GUIDS, elements, joint, table


def typed(issues: Table, **by_column: str) -> Table:
    """The same text on every row of the sheet."""
    columns = {k: np.full(issues.n, by_column.get(k, ""), dtype=object) for k in ("status", "assignee", "comment")}
    return Table("typed", issues.n, {"issue": issues["issue"], **columns})


def test_ids_do_not_depend_on_order_of_panels_files_or_sides() -> None:
    one = reconcile(table(joint(0, 1, 2.0), joint(1, 2, 3.0)), elements())
    swapped = elements(("P3", "P2", "P1"), GUIDS[::-1])
    other = reconcile(table(joint(0, 1, 3.0), joint(2, 1, 2.2)), swapped)
    assert other["issue"].tolist() == one["issue"].tolist()[::-1]
    assert len(set(one["issue"])) == 2 and all(len(i) == 10 for i in one["issue"])


def test_matters_that_cannot_be_told_apart_get_an_ordinal() -> None:
    got = reconcile(table(joint(0, 1, 2.0), joint(0, 1, 2.0), joint(0, 1, 2.0, key="left")), elements())
    assert len(set(identities(got))) == 3


def test_new_then_open_then_resolved_then_reopened() -> None:
    first = reconcile(table(joint(0, 1, 2.0)), elements())
    assert first["state"].tolist() == ["new"]
    second = reconcile(table(joint(0, 1, 2.0)), elements(), first)
    assert second["state"].tolist() == ["open"]
    third = reconcile(table(), elements(), second)
    assert third["state"].tolist() == ["resolved"] and third["text"].tolist() == second["text"].tolist()
    assert reconcile(table(), elements(), third)["state"].tolist() == ["resolved"]
    back = reconcile(table(joint(0, 1, 2.0)), elements(), third)
    assert back["state"].tolist() == ["open"] and back["note"][0].startswith("reopened") and back["issue"][0] == first["issue"][0]


def test_accepted_holds_until_it_gets_worse_and_then_a_person_decides_anew() -> None:
    before = reconcile(table(joint(0, 1, 4.0)), elements())
    yes = typed(before, status="Accepted", comment="agreed on site", assignee="facade")
    held = reconcile(table(joint(0, 1, 4.0)), elements(), before, yes)
    assert held["state"].tolist() == ["accepted"] and standing(held, "info") == 0
    better = reconcile(table(joint(0, 1, 4.5)), elements(), held, typed(held, status="accepted", comment="agreed on site"))
    assert better["state"].tolist() == ["accepted"]
    worse = reconcile(table(joint(0, 1, 3.0)), elements(), held, typed(held, status="accepted", comment="agreed on site"))
    assert worse["state"].tolist() == ["open"] and standing(worse, "error") == 1
    assert worse["status"][0] == "was accepted" and worse["comment"][0] == "agreed on site" and "1.0, now 2.0" in worse["note"][0]
    again = reconcile(table(joint(0, 1, 3.0)), elements(), worse, typed(worse, status="was accepted", comment="agreed on site"))
    assert again["state"].tolist() == ["open"]


def test_an_acceptance_needs_a_reason() -> None:
    before = reconcile(table(joint(0, 1, 4.0)), elements())
    got = reconcile(table(joint(0, 1, 4.0)), elements(), before, typed(before, status="accepted", comment="  "))
    assert got["state"].tolist() == ["open"] and "reason" in got["note"][0]


def test_typed_text_survives_without_the_workbook_and_after_it_is_resolved() -> None:
    before = reconcile(table(joint(0, 1, 4.0), joint(1, 2, 3.0)), elements())
    said = reconcile(table(joint(0, 1, 4.0), joint(1, 2, 3.0)), elements(), before, typed(before, status="ask", comment="=1+1", assignee="@x"))
    later = reconcile(table(joint(1, 2, 3.0)), elements(), said, None)
    assert later["state"].tolist() == ["open", "resolved"]
    assert [later[k].tolist() for k in ("status", "assignee", "comment")] == [["ask"] * 2, ["@x"] * 2, ["=1+1"] * 2]


def test_issues_of_a_model_that_takes_no_part_stay_as_they_were() -> None:
    before = reconcile(table(joint(0, 1, 4.0)), elements())
    got = reconcile(table(), elements(("Q",), ("0qqqqqqqqqqqqqqqqqqqqq",), "b.ifc"), before)
    assert got["state"].tolist() == ["new"] and "no part" in got["note"][0] and got["panel"].tolist() == [-1]


def test_peoples_order_is_kept_with_new_ones_on_top() -> None:
    three = [joint(0, 1, 4.0), joint(1, 2, 3.0), joint(0, 2, 2.0)]
    before = reconcile(table(*three), elements())
    sheet = typed(before).take(np.argsort(-before["rank"]))  # turned round by hand
    got = reconcile(table(*three, joint(0, 1, 1.0, key="top")), elements(), before, sheet)
    order = got["issue"][np.argsort(got["rank"])].tolist()
    assert order[1:] == sheet["issue"].tolist() and order[0] not in sheet["issue"].tolist()
    untouched = reconcile(table(*three), elements(), before, typed(before).take(np.argsort(before["rank"])))
    assert untouched["rank"].tolist() == before["rank"].tolist()


def test_names_are_put_beside_and_what_the_finding_says_comes_first() -> None:
    got = reconcile(table(joint(0, 1, 4.0), Issue("file-apart", "error", "far", model="b.ifc", key="b.ifc")), elements())
    assert (got["guid"][0], got["mark"][0], got["step_id"][0], got["other_guid"][0], got["other_class"][0]) == \
        (GUIDS[0], "000", "100", GUIDS[1], "IfcPlate")
    assert got["shortfall"][0] == pytest.approx(1.0) and np.isnan(got["shortfall"][1])
    assert (got["model"][1], got["guid"][1], got["step_id"][1]) == ("b.ifc", "", "")
    assert got["group"].tolist() == ["joint-width: upright joint", "file-apart"]
