"""Work done in a second process while the first goes on; both cores write."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Sequence
from typing import Any

from bimcheck.core.errors import InputError

Task = Callable[[], Any]


class Beside:
    """Runs tasks in order in a forked process, which sees the tables as they are without copying them.

    Where processes cannot be forked the tasks run at once, here.  wait() raises what a task raised.
    """

    def __init__(self, tasks: Sequence[Task]) -> None:
        self._process: Any = None
        if "fork" not in multiprocessing.get_all_start_methods():
            _do(tasks)
            return
        context = multiprocessing.get_context("fork")
        self._ours, theirs = context.Pipe(duplex=False)
        self._process = context.Process(target=_child, args=(tasks, theirs), daemon=True)
        self._process.start()
        theirs.close()

    def wait(self) -> None:
        if self._process is None:
            return
        try:
            problem = self._ours.recv()
        except EOFError:
            problem = RuntimeError("the second writing process died")
        self._process.join()
        if problem is not None:
            raise problem


def _do(tasks: Sequence[Task]) -> None:
    for task in tasks:
        task()


def _child(tasks: Sequence[Task], pipe: Any) -> None:
    try:
        _do(tasks)
    except InputError as problem:
        pipe.send(InputError(problem.what, problem.where, problem.do))
    except Exception as problem:
        pipe.send(RuntimeError(f"{type(problem).__name__}: {problem}"))
    else:
        pipe.send(None)
