"""Parts of the search on several processes: the same bytes, and nothing lost where one fails."""

from __future__ import annotations

import multiprocessing
import os
import threading

import numpy as np
import pytest

from bimcheck.core.errors import InputError
from bimcheck.layout import waves
from bimcheck.layout.parts import cores, in_parts
from bimcheck.layout.settings import Layout
from bimcheck.layout.waves import Selected, run
from tests.layout import plain
from tests.layout.test_waves import ELL, TRAPEZOID

forked = pytest.mark.skipif("fork" not in multiprocessing.get_all_start_methods(), reason="no process can be divided here")


def _square(part: int) -> tuple[int, bool]:
    return part * part, multiprocessing.parent_process() is not None


@forked
def test_answers_come_in_the_order_of_the_parts() -> None:
    said: list[str] = []
    found = in_parts(_square, [5, 1, 4, 2], 2, said.append)
    assert found == [(25, True), (1, True), (16, True), (4, True)]
    assert in_parts(_square, [5, 1], 1, said.append) == [(25, False), (1, False)]
    assert said == []


@forked
def test_what_fails_there_is_raised_here() -> None:
    def refuses(part: int) -> int:
        raise InputError("no such thing", "part 3", "leave it out")

    def breaks(part: int) -> float:
        return 1 / (part - 2)

    with pytest.raises(InputError, match="no such thing; part 3; leave it out"):
        in_parts(refuses, [1, 2, 3], 2, print)
    with pytest.raises(RuntimeError, match="ZeroDivisionError"):
        in_parts(breaks, [1, 2, 3], 2, print)


@forked
def test_the_parts_of_a_process_that_dies_are_done_again() -> None:
    def dies(part: int) -> int:
        if part == 3 and multiprocessing.parent_process() is not None:
            os._exit(9)  # as if killed for want of memory
        return part

    said: list[str] = []
    assert in_parts(dies, [1, 2, 3, 4, 5], 2, said.append) == [1, 2, 3, 4, 5]
    assert len(said) == 1 and "done again" in said[0]


def test_a_process_with_other_threads_is_not_divided() -> None:
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait)
    thread.start()
    try:
        assert cores() == 1
    finally:
        stop.set()
        thread.join()


def _tower(processes: int, order: np.ndarray | None = None) -> Selected:
    rng = np.random.default_rng(5)
    outlines = [*(plain.rectangle(*np.round(rng.uniform(420, 1300, 2))) for _ in range(10)), ELL, TRAPEZOID] * 2
    loads = -rng.uniform(1e-3, 4e-3, len(outlines))
    rows = np.arange(len(outlines)) if order is None else order
    panels = plain.panels([outlines[k] for k in rows], w_suction=loads[rows], f_d=5.5, R_k=4000.0)
    return run({"panels": panels, "facades": plain.facades()}, Layout(), plain.solve, plain.evaluate, plain.CHECKS, processes=processes)


def _bytes(s: Selected) -> list[bytes]:
    out = []
    for name in ("layouts", "candidates", "anchors"):
        for key in sorted(s.tables[name]):
            column = np.asarray(s.tables[name][key])
            out.append(repr(column.tolist()).encode() if column.dtype == object else column.tobytes())
    return [*out, s.tables["panels"]["u_layout"].tobytes(), repr(s.counts).encode()]


@forked
def test_one_process_or_two_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(waves, "ALONE", 3)
    monkeypatch.setattr(waves, "CLASSES_AT_ONCE", 3)
    assert _bytes(_tower(1)) == _bytes(_tower(2))


def test_parts_change_nothing_for_a_panel(monkeypatch: pytest.MonkeyPatch) -> None:
    """In one piece, in parts, and in parts with the rows in another order."""
    whole = _tower(1)
    monkeypatch.setattr(waves, "ALONE", 3)
    monkeypatch.setattr(waves, "CLASSES_AT_ONCE", 3)
    order = np.random.default_rng(1).permutation(24)
    parts, turned = _tower(1), _tower(1, order)
    for key in ("u_layout", "n_anchors_selected"):
        np.testing.assert_array_equal(whole.tables["panels"][key], parts.tables["panels"][key])
        np.testing.assert_array_equal(whole.tables["panels"][key][order], turned.tables["panels"][key])
