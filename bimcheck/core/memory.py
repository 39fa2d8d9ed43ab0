"""Memory that is no longer needed goes back to the machine."""

from __future__ import annotations

import ctypes
import sys
from collections.abc import Callable
from functools import cache

try:
    import resource
except ImportError:  # Windows
    resource = None


@cache
def _trim() -> Callable[[int], int]:
    """glibc keeps what was freed between stages, a quarter of all; other C libraries have no such call."""
    try:
        return ctypes.CDLL("libc.so.6").malloc_trim if sys.platform == "linux" else lambda pad: 0
    except (OSError, AttributeError):
        return lambda pad: 0


def give_back() -> None:
    _trim()(0)


def peak_MB() -> float:
    """Greatest memory of this process so far, or of a finished one that it started; 0 where the system does not say."""
    if resource is None:
        return 0.0
    used = (resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return round(max(used) / (1024 if sys.platform != "darwin" else 1024**2), 1)
