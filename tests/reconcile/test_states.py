"""States from run to run.  Expected values follow from the definitions in the docstrings of bimcheck.reconcile.states."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table
from bimcheck.reconcile.scope import NO_PART, NOT_SELECTED, WHOLE_DECIDES, Scope, narrow_checks
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
    assert worse["status"][0] == "was accepted" and worse["comment"][0] == "agreed on site" and "of 1, now 2" in worse["note"][0]
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
    # Of the three only one is left: its order is the default one by chance, and people's order still counts when they come back.
    lone = reconcile(table(three[0]), elements(), got, typed(got).take(np.argsort(got["rank"])))
    back = reconcile(table(*three), elements(), lone, typed(lone).take(np.argsort(lone["rank"])))
    assert [i for i in back["issue"][np.argsort(back["rank"])] if i in sheet["issue"]] == sheet["issue"].tolist()


def test_names_are_put_beside_and_what_the_finding_says_comes_first() -> None:
    got = reconcile(table(joint(0, 1, 4.0), Issue("file-apart", "error", "far", model="b.ifc", key="b.ifc")), elements())
    assert (got["guid"][0], got["mark"][0], got["step_id"][0], got["other_guid"][0], got["other_class"][0]) == \
        (GUIDS[0], "000", "100", GUIDS[1], "IfcPlate")
    assert got["shortfall"][0] == pytest.approx(1.0) and np.isnan(got["shortfall"][1])
    assert (got["model"][1], got["guid"][1], got["step_id"][1]) == ("b.ifc", "", "")
    assert got["group"].tolist() == ["joint-width: upright joint", "file-apart"]


def test_an_acceptance_does_not_creep() -> None:
    """Each step is within the slack of 0.05 mm; together they are not."""
    now = reconcile(table(joint(0, 1, 4.0)), elements())
    for gap in (4.0, 3.97, 3.94):
        now = reconcile(table(joint(0, 1, gap)), elements(), now, typed(now, status="accepted", comment="agreed"))
    assert now["state"].tolist() == ["open"] and "of 1, now 1.06" in now["note"][0]


def test_slack_of_figures_other_than_mm_goes_with_what_is_required() -> None:
    def pull(force: float) -> Table:
        return table(Issue("tension", "error", "t", panel=0, measured=force, required=400.0, unit="N"))
    first = reconcile(pull(500.0), elements())
    for force, state in ((501.9, "accepted"), (502.1, "open")):
        assert reconcile(pull(force), elements(), first, typed(first, status="accepted", comment="agreed"))["state"].tolist() == [state]


def one_issue_each() -> Table:
    """A joint of P1 and P2, a check of P3 that hangs on its neighbours, a cut-out of P1, a clash of P2 with a body, one of the building."""
    return reconcile(table(
        joint(0, 1, 2.0), Issue("u-joint", "error", "j", panel=2), Issue("u-thickness", "error", "t", panel=2), Issue("cutout-near-edge", "error", "c", panel=0),
        Issue("anchor-clash", "error", "a", panel=1, other_guid="0rail", other_model="rails.ifc"), Issue("building-uncertain", "warning", "b")), elements())


def test_a_run_on_a_selection_resolves_only_what_it_can_judge() -> None:
    before = one_issue_each()
    some = elements(("P2", "P3"), GUIDS[1:])
    scope = Scope(frozenset(("a.ifc", "rails.ifc")), only=True, narrow=frozenset(("u-thickness",)))
    got = reconcile(table(), some, before, None, scope)
    now = dict(zip(got["rule"].tolist(), zip(got["state"].tolist(), got["note"].tolist(), strict=True), strict=True))
    assert now == {"joint-width": ("new", NOT_SELECTED), "u-joint": ("new", WHOLE_DECIDES), "u-thickness": ("resolved", ""),
                   "cutout-near-edge": ("new", NOT_SELECTED),
                   "anchor-clash": ("resolved", ""), "building-uncertain": ("new", NOT_SELECTED)}
    whole = reconcile(table(), elements(), got, None, Scope(frozenset(("a.ifc", "rails.ifc"))))
    assert set(whole["state"].tolist()) == {"resolved"} and set(whole["note"].tolist()) == {""}


def test_what_was_not_looked_at_can_still_be_accepted() -> None:
    before = one_issue_each()
    scope = Scope(frozenset(("b.ifc",)))
    got = reconcile(table(), elements(("Q",), ("0q",), "b.ifc"), before, typed(before, status="accepted", comment="agreed"), scope)
    assert [s for s, m in zip(got["state"], got["model"], strict=True) if m] == ["accepted"] * 5
    back = reconcile(table(), elements(("Q",), ("0q",), "b.ifc"), got, typed(got, status="", comment="agreed"), scope)
    assert [s for s, m in zip(back["state"], back["model"], strict=True) if m] == ["open"] * 5


def test_a_model_without_elements_takes_part_and_either_side_may_be_missing() -> None:
    before = one_issue_each()
    both, one = (reconcile(table(), elements(), before, None, Scope(frozenset(m))) for m in (("a.ifc", "rails.ifc"), ("a.ifc",)))
    rule = before["rule"].tolist().index("anchor-clash")
    assert both["state"][rule] == "resolved" and (one["state"][rule], one["note"][rule]) == ("new", NO_PART)


def test_a_model_that_comes_back_under_another_name_is_known_by_its_elements() -> None:
    before = one_issue_each()
    later = elements(("P1", "P2"), GUIDS[:2], "a_rev_B.ifc")  # P3 was taken out
    got = reconcile(table(), later, before, None, Scope(frozenset(("a_rev_B.ifc", "rails.ifc"))))
    assert set(got["state"].tolist()) == {"resolved"}
    lone = before.take(np.array([1]))  # of the one issue there was, the panel is gone: the earlier list of elements tells
    assert reconcile(table(), later, lone, None, Scope(frozenset(("a_rev_B.ifc",))))["state"].tolist() == ["new"]
    assert reconcile(table(), later, lone, None, Scope(frozenset(("a_rev_B.ifc",)), earlier=elements()))["state"].tolist() == ["resolved"]


def test_where_a_model_is_missing_only_what_panels_answer_themselves_is_settled() -> None:
    """Rails of the missing file may carry what is now unsupported, and the layout follows them."""
    before = one_issue_each()
    scope = Scope(frozenset(("a.ifc",)), narrow=frozenset(("u-thickness",)), last=frozenset(("a.ifc", "rails.ifc")))
    got = reconcile(table(), elements(), before, None, scope)
    now = dict(zip(got["rule"].tolist(), zip(got["state"].tolist(), got["note"].tolist(), strict=True), strict=True))
    assert now == {"joint-width": ("resolved", ""), "u-joint": ("new", WHOLE_DECIDES), "u-thickness": ("resolved", ""), "cutout-near-edge": ("resolved", ""),
                   "anchor-clash": ("new", NO_PART), "building-uncertain": ("new", WHOLE_DECIDES)}
    again = reconcile(table(), elements(), got, None, replace(scope, last=frozenset(("a.ifc",))))  # missing for good: the building is without it
    assert {r for r, s in zip(again["rule"], again["state"], strict=True) if s != "resolved"} == {"anchor-clash"}


def test_checks_that_hang_on_surroundings_are_told_through_the_columns() -> None:
    rules = [{"name": "wind", "reads": ["h_building"], "adds": ["w"], "check": False}, {"name": "bending", "reads": ["t", "w"], "adds": ["u_b"], "check": True},
             {"name": "thickness", "reads": ["t"], "adds": ["u_thickness"], "check": True}]
    assert narrow_checks(rules) == {"thickness"}


def test_place_in_the_plane_of_the_panel() -> None:
    """Panel turned so that u = +y, v = +z from (1000, 2000, 500): a point 300 along and 700 up lies at (1000, 2300, 1200)."""
    own = elements().with_columns(origin=np.tile([1000.0, 2000.0, 500.0], (3, 1)), u=np.tile([0.0, 1, 0], (3, 1)), v=np.tile([0.0, 0, 1], (3, 1)))
    got = reconcile(table(Issue("a", "error", "a", panel=0, x=1000.0, y=2300.0, z=1200.0), Issue("b", "error", "b", x=1.0, y=1.0, z=1.0)), own)
    assert (got["x_panel"][0], got["y_panel"][0]) == (300.0, 700.0) and np.isnan(got["x_panel"][1])


def clashes(*names: str, shift: int = 12) -> Table:
    """A body of each name in the way of a panel, its key as finders write it."""
    return reconcile(table(*(Issue("anchor-clash", "error", "c", panel=0, key=str(k), other_guid=f"body{k}", other_name=name,
                                   group=f"{name}, free after {shift} mm to the left") for k, name in enumerate(names))), elements())


def test_bodies_that_carry_their_number_in_their_name_are_one_matter() -> None:
    numbered = [f"Bracket:Type A:{345678 + k}" for k in range(300)]
    assert set(clashes(*numbered)["group"]) == {"anchor-clash: Bracket:Type A, free after 12 mm to the left"}
    coded = [f"Post 0zw0L7aCLO{k}QFkGNX" for k in range(30)]
    assert set(clashes(*coded)["group"]) == {"anchor-clash: Post, free after 12 mm to the left"}
    assert set(clashes(*(["Bracket"] * 300))["group"]) == {"anchor-clash: Bracket, free after 12 mm to the left"}


def test_names_that_many_bodies_share_are_kinds_not_numbers() -> None:
    got = clashes("HEB 200", "HEB 200", "HEB 160", "HEB 160")
    assert set(got["group"]) == {f"anchor-clash: HEB {h}, free after 12 mm to the left" for h in (160, 200)}
    assert clashes("Post 7")["group"].tolist() == ["anchor-clash: Post 7, free after 12 mm to the left"]  # alone: nothing to gather
