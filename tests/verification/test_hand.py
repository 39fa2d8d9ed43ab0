"""The hand calculations agree with the run, step by step, with `explain` to the printed digits, and the page shows them."""

from __future__ import annotations

from pathlib import Path

import pytest

from bimcheck.explain.text import panel_text
from tests.verification.hand import PAGE, Case, cases, page


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> list[Case]:
    return cases(Path(tmp_path_factory.mktemp("hand")))


def test_by_hand_and_by_the_run(found: list[Case]) -> None:
    assert len({c.context.value("panels", "guid") for c in found}) == len(found) >= 4
    for case in found:
        for line in case.lines():
            assert line.run == pytest.approx(line.hand, rel=line.near), (case.title, line.what, line.formula)


def test_explain_prints_the_same_digits(found: list[Case]) -> None:
    """The value by hand, written as explain writes it, stands in the explanation of that anchor."""
    for case in found:
        for line in case.lines():
            assert line.context is not None
            if line.near <= 1e-6:
                assert f"= {line.shown(line.hand)}" in "\n".join(panel_text(line.context)), (case.title, line.what)


def test_the_page_is_current(found: list[Case]) -> None:
    assert PAGE.read_text(encoding="utf-8") == page(found), "run python -m tests.verification.hand"
