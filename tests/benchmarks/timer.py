"""A function that knows how long it has run."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any


class Timer:
    """Calls a function and adds up its seconds."""

    def __init__(self, function: Callable[..., Any]) -> None:
        self.function, self.seconds = function, 0.0

    def __call__(self, *arguments: Any) -> Any:
        begin = time.perf_counter()
        result = self.function(*arguments)
        self.seconds += time.perf_counter() - begin
        return result
