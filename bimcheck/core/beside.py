"""Work done in a second process while the first goes on."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable, Sequence
from typing import Any

from bimcheck.core.errors import InputError

Task = Callable[[], Any]


def worth_it() -> bool:
    """Whether a second process helps: two cores, and a machine and moment that can divide a process safely."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1
    return (cores > 1 and threading.active_count() == 1 and multiprocessing.parent_process() is None
            and "fork" in multiprocessing.get_all_start_methods())


class Beside:
    """Runs tasks in order in a forked process, which sees everything as it is without copying it.

    Where processes cannot be forked the tasks run at once, here.  wait() gives their answers, or raises what a task raised.
    """

    def __init__(self, tasks: Sequence[Task]) -> None:
        self._process: Any = None
        self._answers: list[Any] = []
        if "fork" not in multiprocessing.get_all_start_methods():
            self._answers = [task() for task in tasks]
            return
        context = multiprocessing.get_context("fork")
        self._ours, theirs = context.Pipe(duplex=False)
        self._process = context.Process(target=_child, args=(tasks, theirs), daemon=True)
        self._process.start()
        theirs.close()

    def wait(self) -> list[Any]:
        if self._process is None:
            return self._answers
        try:
            answers, problem = self._ours.recv()
        except EOFError:
            answers, problem = [], RuntimeError("the second process died")
        self._process.join()
        if problem is not None:
            raise problem
        return answers


def _child(tasks: Sequence[Task], pipe: Any) -> None:
    try:
        answers = [task() for task in tasks]
    except InputError as problem:
        pipe.send(([], InputError(problem.what, problem.where, problem.do)))
    except Exception as problem:
        pipe.send(([], RuntimeError(f"{type(problem).__name__}: {problem}")))
    else:
        pipe.send((answers, None))
