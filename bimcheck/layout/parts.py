"""Independent parts of a job, on all cores where the machine can divide a process; the answers are the same either way."""

from __future__ import annotations

import gc
import multiprocessing
import os
import sys
import threading
import traceback
from collections.abc import Callable, Sequence
from multiprocessing.connection import wait
from typing import Any, TypeVar

from bimcheck.core.errors import InputError

Part = TypeVar("Part")
Answer = TypeVar("Answer")
Progress = Callable[[str], None]


def cores() -> int:
    """Processes worth starting here: 1 where a process cannot be divided safely, or is itself a part of another."""
    alone = threading.active_count() == 1 and multiprocessing.parent_process() is None
    if not alone or sys.platform == "darwin" or "fork" not in multiprocessing.get_all_start_methods():
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def in_parts(work: Callable[[Part], Answer], parts: Sequence[Part], processes: int, progress: Progress) -> list[Answer]:
    """work(part) for each part, in their order.

    Divided processes see everything as it is here, and hand their answers back.  What work raises there is raised here;
    the parts of a process that ends without an answer (killed for want of memory, say) are done here.
    """
    found: dict[int, Answer] = {}
    if min(processes, len(parts)) > 1:
        found = _divided(work, parts, min(processes, len(parts)))
        if len(found) < len(parts):
            progress("a process ended early: its part is done again")
    return [found[i] if i in found else work(part) for i, part in enumerate(parts)]


def _divided(work: Callable[[Part], Answer], parts: Sequence[Part], processes: int) -> dict[int, Answer]:
    """Answers by part; those of processes that died are missing."""
    context, found, children, ends = multiprocessing.get_context("fork"), {}, [], []
    try:
        for k in range(processes):
            end, theirs = context.Pipe(duplex=False)
            ends.append(end)
            children.append(context.Process(target=_child, args=(work, parts, range(k, len(parts), processes), theirs), daemon=True))
            children[-1].start()
            theirs.close()
        while ends:
            for end in wait(ends):
                answer = _received(end)
                if answer is None:
                    ends.remove(end)
                else:
                    found[answer[0]] = answer[1]
    except OSError:  # no further process, or no memory for one: the rest is done by the caller
        return found
    finally:
        for child in children:
            child.terminate() if ends else None
            child.join()
    return found


def _received(end: Any) -> tuple[int, Any] | None:
    """The next part and its answer; None at the end of a process.  Raises what the process raised."""
    try:
        row, answer, problem = end.recv()
    except EOFError:
        return None
    if isinstance(problem, InputError):
        raise problem
    if problem is not None:
        raise RuntimeError(f"in a process of its own:\n{problem}")
    return row, answer


def _child(work: Callable[[Any], Any], parts: Sequence[Any], rows: range, end: Any) -> None:
    gc.freeze()  # collecting what the parent holds would copy its memory
    for row in rows:
        try:
            end.send((row, work(parts[row]), None))
        except InputError as problem:
            end.send((row, None, problem))
        except Exception:
            end.send((row, None, traceback.format_exc()))
