"""Solved shapes kept between runs: the same numbers cold, warm, alone, in parallel; broken files do no harm."""

from __future__ import annotations

import sqlite3
from concurrent.futures import ProcessPoolExecutor
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from bimcheck.plate import cache, jobs
from bimcheck.plate.fineness import cells_for
from bimcheck.plate.jobs import Job, binned, solve_shapes
from bimcheck.plate.points import solve
from bimcheck.plate.records import pack, unpack
from bimcheck.plate.shape import build
from bimcheck.plate.solutions import Solutions, join
from tests.plate.shapes import CASES, FOUR, NINE, PANEL, PIERCED, SIX, box, grid, moved

JOBS = [
    Job(PANEL, 0.2, [FOUR, SIX, FOUR[:2]], spring=[np.inf, 1e-4, np.inf]),
    Job(PIERCED, 0.2, [grid([180, 1020], [120, 600])]),
    Job(PANEL, 0.2, [SIX, NINE, SIX], lost=[2, -1, -1], settled=[-1, -1, 1], spring=1e-4),
    Job(PANEL, 0.3, [FOUR]),
]


def _same(a: Solutions, b: Solutions) -> bool:
    return all(np.array_equal(getattr(a, f.name), getattr(b, f.name), equal_nan=getattr(a, f.name).dtype == float) for f in fields(Solutions))


def test_rows_come_in_the_order_asked_for(tmp_path: Path) -> None:
    solved = solve_shapes(JOBS, where=tmp_path)
    assert np.diff(solved.offsets).tolist() == [4, 6, 2, 4, 6, 9, 6, 4]
    assert solved.mechanism.tolist() == [False, False, True, False, False, False, False, False]
    assert solved.pressure.tolist() == [1, 1, 1, 1, 1, 1, 0, 1]
    alone = solve(build(PANEL, 0.3), FOUR)
    np.testing.assert_allclose(solved.reaction[-4:], alone.reaction, rtol=1e-9)
    np.testing.assert_allclose(solved.anchor_moment(10.0)[-4:], alone.anchor_moment(10.0), rtol=1e-8)


def test_warm_is_cold_and_solves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cold = solve_shapes(JOBS, where=tmp_path)
    monkeypatch.setattr(jobs, "build", None)  # any solving would fail
    assert _same(cold, solve_shapes(JOBS, where=tmp_path))
    assert _same(cold, solve_shapes(list(JOBS), where=tmp_path, processes=2))


def test_two_processes_give_the_same_numbers(tmp_path: Path) -> None:
    assert _same(solve_shapes(JOBS, where=tmp_path / "a", processes=1), solve_shapes(JOBS, where=tmp_path / "b", processes=2))


def test_moved_turned_and_mirrored_panels_share_their_solutions(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    turn = np.array([[0, -1], [1, 0]])
    rings, anchors = CASES["notched"]
    first = solve_shapes([Job(rings, 0.2, [anchors])], where=tmp_path)
    monkeypatch.setattr(jobs, "build", None)
    other = Job(moved([r @ turn.T for r in rings], 4000.0, 70.0), 0.2, moved([anchors @ turn.T], 4000.0, 70.0))
    assert _same(first, solve_shapes([other], where=tmp_path))


def test_what_changes_a_result_changes_the_key(tmp_path: Path) -> None:
    base = Job(PANEL, 0.2, [SIX])
    others = [Job(PANEL, 0.21, [SIX]), Job(PANEL, 0.2, [SIX], spring=1e-4), Job(PANEL, 0.2, [SIX], lost=0),
              Job(PANEL, 0.2, [SIX], settled=0), Job(PANEL, 0.2, moved([SIX], 0.1, 0.0)), Job(PANEL, 0.2, [SIX], cells=32),
              Job([box(0, 0, 1200.1, 600)], 0.2, [SIX])]
    solve_shapes([base, *others], where=tmp_path)
    with sqlite3.connect(cache.file(tmp_path)) as data:
        assert data.execute("SELECT COUNT(*) FROM layouts").fetchone() == (8,)


def test_a_spoilt_file_is_replaced(tmp_path: Path) -> None:
    good = solve_shapes(JOBS, where=tmp_path)
    cache.file(tmp_path).write_bytes(b"no database" * 1000)
    assert _same(good, solve_shapes(JOBS, where=tmp_path))
    assert len(cache.load([], tmp_path)) == 0
    with sqlite3.connect(cache.file(tmp_path)) as data:
        assert data.execute("SELECT COUNT(*) FROM layouts").fetchone() == (8,)


def test_a_folder_that_cannot_be_written_does_no_harm(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    assert len(solve_shapes(JOBS, where=tmp_path / "file" / "below")) == 8


def test_a_record_of_another_length_is_solved_again(tmp_path: Path) -> None:
    good = solve_shapes(JOBS, where=tmp_path)
    with sqlite3.connect(cache.file(tmp_path)) as data:
        data.execute("UPDATE layouts SET record = X'00' WHERE id = 3")
    assert _same(good, solve_shapes(JOBS, where=tmp_path))


def _run(folder: Path) -> int:
    return len(solve_shapes(JOBS, where=folder, processes=1))


def test_two_runs_at_once_share_a_folder(tmp_path: Path) -> None:
    with ProcessPoolExecutor(2) as pool:
        assert list(pool.map(_run, [tmp_path] * 6)) == [8] * 6
    with sqlite3.connect(cache.file(tmp_path)) as data:
        assert data.execute("SELECT COUNT(*), COUNT(DISTINCT key) FROM layouts").fetchone() == (8, 8)


def test_the_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert cache.folder({"BIMCHECK_CACHE_DIR": str(tmp_path)}) == tmp_path
    assert cache.folder({}).name == "bimcheck"
    monkeypatch.setenv("BIMCHECK_CACHE_DIR", str(tmp_path))
    solve_shapes(JOBS[:1])
    assert cache.file(tmp_path).exists()


def test_old_layouts_make_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "MOST", 5)
    solve_shapes(JOBS, where=tmp_path)
    solve_shapes([Job(PANEL, 0.25, [FOUR])], where=tmp_path)
    with sqlite3.connect(cache.file(tmp_path)) as data:
        assert data.execute("SELECT COUNT(*) FROM layouts").fetchone()[0] <= 5


def test_records_keep_ten_digits() -> None:
    plate = build(PANEL, 0.2)
    solved = join([solve(plate, a, lost=k) for a, k in ((FOUR, -1), (SIX, 3), (FOUR[:2], -1))])
    again = unpack(pack(solved))
    for f in fields(Solutions):
        np.testing.assert_allclose(np.asarray(getattr(again, f.name), dtype=float), np.asarray(getattr(solved, f.name), dtype=float),
                                   rtol=5e-10, atol=1e-4 if f.name == "deviator" else 0.0)


def test_what_cannot_be_set_up_does_not_stop_the_rest(tmp_path: Path) -> None:
    bow_tie = [np.array([[0, 0], [100, 100], [100, 0], [0, 100]], dtype=float)]
    twice = np.vstack([FOUR, FOUR[:1]])
    nowhere = [np.array([[0, 0], [np.nan, 100], [100, 0]])]
    solved = solve_shapes([Job(PANEL, 0.2, [FOUR, twice, SIX]), Job(bow_tie, 0.2, [FOUR]), Job(PANEL, float("nan"), [FOUR]),
                           Job(nowhere, 0.2, [FOUR]), Job([np.zeros((4, 2))], 0.2, [FOUR])], where=tmp_path)
    assert solved.refused.tolist() == [False, True, False, True, True, True, True]
    assert np.isnan(solved.governing_moment(10.0, 20.0)).tolist() == solved.refused.tolist()
    assert np.isfinite(solved.reaction[:4]).all() and np.isnan(solved.reaction[4:9]).all()


def test_springs_are_binned_to_five_percent() -> None:
    springs = np.geomspace(1e-6, 1e-2, 500)
    assert np.abs(binned(springs) / springs - 1).max() <= 0.025
    assert len(np.unique(binned(springs))) < 200
    assert np.isinf(binned(np.inf))


def test_grids_follow_the_room_about_the_anchors() -> None:
    """24 cells at 1.1 cells to the edge; finer where anchors are nearer to an edge or to one another."""
    big = [box(0, 0, 3000, 1500)]
    layouts = [grid([300, 2700], [300, 1200]), grid([90, 2910], [300, 1200]), grid([60, 2940], [300, 1200]),
               grid([300, 2700], [720, 780]), grid([10, 2990], [300, 1200]), grid([0, 3000], [0, 1500])]
    assert cells_for(big, layouts).tolist() == [24, 32, 48, 48, 64, 24]
    assert cells_for(PIERCED, [grid([180, 1020], [120, 600])]).tolist() == [32]
