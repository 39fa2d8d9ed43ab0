"""Many shapes with their layouts: what is kept is read, the rest solved (on all cores where that pays) and kept."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import accumulate, pairwise
from multiprocessing import parent_process
from pathlib import Path
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

from bimcheck.core.errors import InputError
from bimcheck.plate import cache
from bimcheck.plate.canonical import STEP, Canonical, Key, canonical
from bimcheck.plate.fineness import cells_for, cells_in_boxes
from bimcheck.plate.group import Group
from bimcheck.plate.hermite import Array
from bimcheck.plate.points import solve_many
from bimcheck.plate.records import length, pack, unpack
from bimcheck.plate.shape import build, even_cells
from bimcheck.plate.solutions import Solutions, join, refused

SPRING_STEP = np.log(1.05)  # springs over D are binned to 5 %
TOGETHER = 4e6  # coefficients of whole factors held at once: an eighth of it is taken for each part that is solved
ALONE = 300  # shapes below which a second process does not pay for its start


@dataclass(frozen=True)
class Job:
    """A shape and its layouts: rings and anchors in mm (see shape.build, points.solve_many).

    spring (k / D, 1/mm2), lost and settled: one a layout, or one for all.  cells: along the longest side, 0 for what each layout
    needs (fineness.py).
    """

    rings: Sequence[Array]
    nu: float
    layouts: Sequence[Array]
    spring: Sequence[float] | float = np.inf
    lost: Sequence[int] | int = -1
    settled: Sequence[int] | int = -1
    cells: int = 0


@dataclass(frozen=True)
class _Work:
    """Layouts of one shape in canonical form, in steps: what a process needs, and the key of each layout."""

    rings: Key
    nu: float
    cells: int
    anchors: tuple[tuple[int, ...], ...]
    spring: tuple[float, ...]
    lost: tuple[int, ...]
    settled: tuple[int, ...]
    keys: tuple[bytes, ...] = field(default=())

    @property
    def box(self) -> tuple[int, int] | None:
        """Sides of a rectangle, None for other outlines."""
        if len(self.rings) != 1 or len(self.rings[0]) != 8:
            return None
        _, _, w, _, _, h, _, _ = ring = self.rings[0]
        return (w, h) if ring == (0, 0, w, 0, w, h, 0, h) and w > 0 and h > 0 else None

    def only(self, rows: Sequence[int]) -> _Work:
        parts = {n: tuple(getattr(self, n)[k] for k in rows) for n in ("anchors", "spring", "lost", "settled", "keys")}
        return _Work(self.rings, self.nu, self.cells, **parts)


def binned(spring: Array | float) -> Array:
    """Springs over D as the engine takes them: the nearest power of 1.05; inf stays."""
    spring = np.asarray(spring, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(np.isfinite(spring), np.exp(np.round(np.log(spring) / SPRING_STEP) * SPRING_STEP), spring)


def solve_shapes(jobs: Sequence[Job], *, where: Path | None = None, processes: int | None = None) -> Solutions:
    """Solve all layouts of all jobs, one row a layout in the order given.

    Outlines and anchors are rounded to 0.1 mm, springs over D binned to 5 %; equal shapes under translation, quarter
    turns and mirror share their solutions, also with earlier runs (where: cache folder, by default the user's).
    processes: 1 stays in this one; default by the amount of work.
    """
    works = _works(jobs)
    keys = [key for work in works for key in work.keys]
    sizes = {key: length(len(a) // 2) for work in works for key, a in zip(work.keys, work.anchors, strict=True)}
    kept = {key: record for key, record in cache.load(list(sizes), where).items() if len(record) == sizes[key]}
    new = _solve(_missing(works, kept), processes)
    cache.keep(new, where)
    records = {**kept, **new}
    return unpack([records[key] for key in keys])


def _missing(works: Sequence[_Work], kept: dict[bytes, bytes]) -> list[_Work]:
    """What is not kept yet, every layout once, the layouts of one plate together."""
    plates: dict[tuple[Key, float, int], list[_Work]] = {}
    seen = set(kept)
    for work in works:
        rows = []
        for row, key in enumerate(work.keys):
            if key not in seen:
                seen.add(key)
                rows.append(row)
        if rows:
            plates.setdefault((work.rings, work.nu, work.cells), []).append(work.only(rows))
    return [_together(parts) for parts in plates.values()]


def _together(parts: Sequence[_Work]) -> _Work:
    first = parts[0]
    joined = {n: sum((getattr(p, n) for p in parts), ()) for n in ("anchors", "spring", "lost", "settled", "keys")}
    return _Work(first.rings, first.nu, first.cells, **joined)


def _solve(works: Sequence[_Work], processes: int | None) -> dict[bytes, bytes]:
    tasks = _tasks(works)
    if not processes:
        processes = 1 if len(works) < ALONE or parent_process() is not None else os.cpu_count() or 1
    done = _in_processes(tasks, processes) if processes > 1 and len(tasks) > 1 else None
    with threadpool_limits(1):  # bands are too narrow to share out: more threads wait for one another, up to 20 times
        done = [_task(task) for task in tasks] if done is None else done
    return {key: record for task, records in zip(tasks, done, strict=True)
            for key, record in zip((k for work in task for k in work.keys), records, strict=True)}


def _in_processes(tasks: Sequence[Sequence[_Work]], processes: int) -> list[list[bytes]] | None:
    """None where this machine allows no further processes."""
    try:
        with ProcessPoolExecutor(processes, initializer=threadpool_limits, initargs=(1,)) as pool:
            return list(pool.map(_task, tasks, chunksize=max(1, min(8, len(tasks) // processes))))
    except (OSError, NotImplementedError, BrokenProcessPool):
        return None


def _tasks(works: Sequence[_Work]) -> list[list[_Work]]:
    """What is solved in one go: rectangles of equal numbers of cells, some at a time; other outlines one by one."""
    tasks = [[work] for work in works if work.box is None]
    alike: dict[tuple[int, int, int, bool], list[_Work]] = {}
    for piece in _pieces([work for work in works if work.box is not None]):
        assert piece.box is not None
        w, h = (side / max(piece.box) for side in piece.box)
        alike.setdefault((piece.cells, *even_cells(w, h, piece.cells), piece.settled[0] >= 0), []).append(piece)
    for (_, nx, ny, _), pieces in alike.items():
        most = max(1, int(TOGETHER / (16 * (nx + 1) * (ny + 1) * (min(nx, ny) + 2))))
        tasks += [pieces[i : i + most] for i in range(0, len(pieces), most)]
    return tasks


def _pieces(works: Sequence[_Work]) -> list[_Work]:
    """Rectangles by the cells that their layouts need, with and without pressure."""
    sizes = np.array([work.box for work in works], dtype=float).reshape(-1, 2)
    counts = np.array([len(a) // 2 for work in works for a in work.anchors], dtype=np.int64)
    anchors = np.array([v for work in works for a in work.anchors for v in a], dtype=float).reshape(-1, 2)
    of = np.repeat(np.arange(len(works)), [len(work.keys) for work in works])
    cells = cells_in_boxes(sizes[of], counts, anchors)
    given = np.array([work.cells for work in works], dtype=np.int64)[of]
    kind = np.where(given > 0, given, cells) * 2 + (np.array([k for work in works for k in work.settled], dtype=np.int64) >= 0)
    first = np.searchsorted(of, np.arange(len(works) + 1))
    out = []
    for i, work in enumerate(works):
        own = kind[first[i] : first[i + 1]]
        out += [replace(work.only(np.flatnonzero(own == k).tolist()), cells=k // 2) for k in np.unique(own).tolist()]
    return out


def _task(works: Sequence[_Work]) -> list[bytes]:
    """Records of the layouts of works that are solved in one go."""
    if works[0].box is not None:
        with suppress(InputError):  # each alone then: one must not stop those beside it
            return pack(_in_one(works))
    return [record for work in works for record in _records(work)]


def _in_one(works: Sequence[_Work]) -> Solutions:
    plates = tuple(build([np.reshape(r, (-1, 2)) * STEP for r in work.rings], work.nu, work.cells) for work in works)
    group = Group(plates, np.repeat(np.arange(len(works)), [len(work.keys) for work in works]))
    spring, lost, settled = ([v for work in works for v in getattr(work, k)] for k in ("spring", "lost", "settled"))
    layouts = [np.reshape(a, (-1, 2)) * STEP for work in works for a in work.anchors]
    return solve_many(group, layouts, spring=np.array(spring), lost=lost, settled=settled if settled[0] >= 0 else None)


def _records(work: _Work) -> list[bytes]:
    """Solve the layouts of one plate."""
    if not work.rings:
        return pack(refused(work.nu, [len(a) // 2 for a in work.anchors]))
    rings = [np.reshape(r, (-1, 2)) * STEP for r in work.rings]
    layouts = [np.reshape(a, (-1, 2)) * STEP for a in work.anchors]
    cells = cells_for(rings, layouts) if not work.cells else np.full(len(layouts), work.cells)
    records: list[bytes] = [b""] * len(layouts)
    for fine in np.unique(cells):
        for moved in (False, True):
            rows = np.flatnonzero((cells == fine) & ((np.array(work.settled) >= 0) == moved)).tolist()
            if rows:
                solutions = _attempt(rings, int(fine), work.only(rows), [layouts[k] for k in rows])
                for row, record in zip(rows, pack(solutions), strict=True):
                    records[row] = record
    return records


def _attempt(rings: Sequence[Array], cells: int, part: _Work, layouts: Sequence[Array]) -> Solutions:
    """One outline or layout that cannot be set up must not stop the thousands beside it: its rows are refused."""
    try:
        plate = build(rings, part.nu, cells)
        settled = part.settled if part.settled[0] >= 0 else None
        return solve_many(plate, layouts, spring=np.array(part.spring), lost=part.lost, settled=settled)
    except InputError:
        if len(layouts) == 1:
            return refused(part.nu, [len(layouts[0])])
        return join([_attempt(rings, cells, part.only([k]), [a]) for k, a in enumerate(layouts)])


def _works(jobs: Sequence[Job]) -> list[_Work]:
    """What a process needs of each job."""
    forms = [_form(job.rings) for job in jobs]
    anchors = _steps(forms, jobs)
    counts = [len(job.layouts) for job in jobs]
    springs = binned(np.concatenate([np.empty(0), *(np.broadcast_to(np.asarray(job.spring, dtype=float), k) for job, k in zip(jobs, counts, strict=True))]))
    spring = _shared_out(springs.tolist(), counts)
    return [_work(job, form, *own) for job, form, *own in zip(jobs, forms, _shared_out(anchors, counts), spring, strict=True)]


def _shared_out(values: Sequence[Any], counts: Sequence[int]) -> list[tuple[Any, ...]]:
    """Values in pieces of so many."""
    ends = [0, *accumulate(counts)]
    return [tuple(values[i:j]) for i, j in pairwise(ends)]


def _work(job: Job, form: Canonical, anchors: tuple[tuple[int, ...], ...], spring: tuple[float, ...]) -> _Work:
    lost, settled = ((v,) * len(anchors) if isinstance(v, int) else tuple(int(k) for k in v) for v in (job.lost, job.settled))
    shape = hashlib.sha256(repr((cache.VERSION, form.key, round(job.nu, 6), job.cells)).encode())
    keys = []
    for case in zip(anchors, spring, lost, settled, strict=True):
        own = shape.copy()
        own.update(repr(case).encode())
        keys.append(own.digest()[:16])
    return _Work(form.key, job.nu, job.cells, anchors, spring, lost, settled, tuple(keys))


def _form(rings: Sequence[Array]) -> Canonical:
    """The canonical form; one without rings where the outline is none, which _records refuses."""
    try:
        return canonical(rings)
    except InputError:
        return Canonical((), (), np.eye(2), np.zeros(2))


def _steps(forms: Sequence[Canonical], jobs: Sequence[Job]) -> list[tuple[int, ...]]:
    """Anchors of each layout of each job in the job's canonical outline, as flat integers."""
    layouts = [np.reshape(a, (-1, 2)) for job in jobs for a in job.layouts]
    points = np.concatenate([np.empty((0, 2)), *layouts])
    many = [sum(len(a) for a in job.layouts) for job in jobs]
    matrix, offset = (np.repeat(np.array([getattr(f, k) for f in forms]), many, axis=0) for k in ("matrix", "offset"))
    there = np.einsum("kij,kj->ki", matrix.reshape(-1, 2, 2), points) + offset.reshape(-1, 2)
    flat = np.rint(np.nan_to_num(there) / STEP).astype(int).ravel().tolist()
    return _shared_out(flat, [2 * len(a) for a in layouts])
