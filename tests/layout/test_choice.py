"""Sharing of layouts, its cost, and marks."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.layout.choice import Choice, _covers, _Trial
from bimcheck.layout.marks import codes, drilling_keys, marks
from bimcheck.layout.settings import Layout
from bimcheck.layout.waves import Selected, run
from tests.layout import plain


def tower(standardise: str, cost: float) -> Selected:
    """One size of panel, suction rising over the height: some need more anchors than others."""
    k = 24
    panels = plain.panels([plain.rectangle(1100, 1100)] * k, w_suction=-np.linspace(0.8e-3, 6e-3, k), R_k=4000.0,
                          facade_index=np.arange(k) % 2)
    return run({"panels": panels, "facades": plain.facades()}, Layout(standardise=standardise, standardise_cost=cost),
               plain.solve, plain.evaluate, plain.CHECKS)


def kinds(s: Selected) -> int:
    c = s.tables["candidates"]
    return len(set(zip(c["layout"].tolist(), c["n_anchors"].tolist(), strict=True)))


def test_sharing_costs_what_is_stated_and_no_more() -> None:
    alone = tower("none", 0.0)
    anchors = alone.tables["panels"]["n_anchors_selected"].sum()
    before = np.inf
    for cost in (0.0, 0.05, 1.0):
        s = tower("building", cost)
        assert (s.tables["panels"]["u_layout"] <= 1).all()
        assert s.tables["panels"]["n_anchors_selected"].sum() <= anchors * (1 + cost)
        assert kinds(s) <= min(before, kinds(alone))
        before = kinds(s)
    assert kinds(s) == 1  # at twice the anchors every panel can take the strongest layout


def test_without_cost_no_panel_gets_more_anchors() -> None:
    np.testing.assert_array_equal(tower("none", 0.0).tables["panels"]["n_anchors_selected"],
                                  tower("facade", 0.0).tables["panels"]["n_anchors_selected"])


def test_curve_states_layouts_and_anchors() -> None:
    curve = tower("building", 0.05).standardisation
    assert (np.diff(curve["layouts"]) <= 0).all()
    assert curve["chosen"].sum() == 1
    row = int(np.flatnonzero(curve["chosen"])[0])
    s = tower("building", 0.05)
    assert curve["layouts"][row] == kinds(s)
    assert curve["anchors"][row] == s.tables["panels"]["n_anchors_selected"].sum()
    assert curve["u_max"][row] == pytest.approx(s.tables["panels"]["u_layout"].max(), rel=1e-9)


def test_anchors_are_spent_only_where_layouts_are_saved() -> None:
    """Four panels of four anchors; a serves two, b the others, c (six anchors) three of them, d (eight) all: by hand."""
    u = np.array([[0.9, np.inf, 0.8, 0.5], [0.9, np.inf, 0.8, 0.5], [np.inf, 0.9, 0.8, 0.5], [np.inf, 0.9, np.inf, 0.5]])
    trial = _Trial(np.arange(4), np.array([[4, 0], [4, 1], [6, 0], [8, 0]]), u)
    choice = Choice(np.full(4, 4), np.array([0, 0, 1, 1]), np.full(4, 0.9), np.ones(4, dtype=bool))
    picks = {c: p[0].tolist() for c, p in _covers([trial], choice, [0.0, 0.4, 1.0]).items()}
    assert picks == {0.0: [0, 0, 1, 1], 0.4: [0, 0, 1, 1], 1.0: [3, 3, 3, 3]}  # c costs six anchors and leaves two layouts


def test_a_layout_that_another_facade_uses_is_not_saved() -> None:
    """Two panels of four anchors on a and b; c (six) would serve both, but another group cannot leave a or b."""
    mine = _Trial(np.arange(2), np.array([[4, 0], [4, 1], [6, 0]]), np.array([[0.9, np.inf, 0.8], [np.inf, 0.9, 0.8]]))
    own = _Trial(np.arange(2, 4), np.array([[4, 0], [4, 1]]), np.array([[0.9, np.inf], [np.inf, 0.9]]), np.array([0, 1]))
    choice = Choice(np.full(4, 4), np.array([0, 1, 0, 1]), np.full(4, 0.9), np.ones(4, dtype=bool))
    assert _covers([mine, own], choice, [1.0])[1.0][0].tolist() == [0, 1]
    alone = Choice(np.full(2, 4), np.array([0, 1]), np.full(2, 0.9), np.ones(2, dtype=bool))
    assert _covers([mine], alone, [1.0])[1.0][0].tolist() == [2, 2]


def test_the_curve_counts_the_marks_of_the_shop() -> None:
    s = tower("building", 0.05)
    row = int(np.flatnonzero(s.standardisation["chosen"])[0])
    assert s.standardisation["marks"][row] == len({m for m in marks(*passed(s)) if m})


def passed(s: Selected) -> tuple:
    panels = s.tables["panels"]
    return panels.with_columns(result=np.where(panels["u_layout"] <= 1, "pass", "fail").astype(object)), s.tables["anchors"]


def test_marks_follow_what_is_drilled() -> None:
    ell = np.array([[0, 0, 0], [900, 0, 0], [900, 350, 0], [400, 350, 0], [400, 800, 0], [0, 800, 0]], dtype=float)
    image = ell.copy()
    image[:, 0] = 900 - image[:, 0]
    outlines = [ell, np.roll(ell, 2, axis=0), image[::-1], plain.rectangle(900, 800)]
    s = run({"panels": plain.panels(outlines), "facades": plain.facades()}, Layout(), plain.solve, plain.evaluate, plain.CHECKS)
    panels, anchors = passed(s)
    a, b, c, d = marks(panels, anchors)
    assert a == b
    assert len({a, c, d}) == 3  # mirror images differ
    failed = panels.with_columns(result=np.array(["pass", "fail", "not_checked", "pass"], dtype=object))
    assert marks(failed, anchors).tolist() == [a, "", "", d]
    deeper = panels.with_columns(hole_depth=np.array([14.0, 15.0, 14, 14]))
    assert marks(deeper, anchors)[0] != marks(deeper, anchors)[1]


def test_marks_are_kept_over_revisions() -> None:
    key, other = "ab" * 32, "cd" * 32
    first = codes([key], {})
    assert codes([key, other], {})[key] == first[key]
    assert codes([key], {key: "OLD-1"})[key] == "OLD-1"
    taken = codes([key], {other: first[key]})
    assert taken[key] != first[key]
    assert taken[key].startswith(first[key])


def test_keys_are_blank_without_anchors() -> None:
    s = run({"panels": plain.panels([plain.rectangle(300, 300), plain.rectangle(900, 800)]), "facades": plain.facades()},
            Layout(), plain.solve, plain.evaluate, plain.CHECKS)
    keys = drilling_keys(s.tables["panels"], s.tables["anchors"], np.arange(2))
    assert keys[0] == ""
    assert len(keys[1]) == 64
