"""The hand calculations agree with the run, step by step, and the page shows them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.verification.hand import PAGE, chosen, lines, page, result


def test_hand_calculations(tmp_path: Path) -> None:
    r = result(tmp_path)
    rows = chosen(r)
    assert len(set(rows)) == 3
    for row in rows:
        for what, formula, hand, run, _ in lines(r, row):
            assert run == pytest.approx(hand, rel=2e-4), (what, formula)
    assert PAGE.read_text(encoding="utf-8") == page(r), "run python -m tests.verification.hand"
