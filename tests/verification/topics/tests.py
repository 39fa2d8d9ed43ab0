"""Flexural strength from breaking loads, through the functions that `bimcheck pullout` uses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bimcheck.pullout.flexural import breaking_strength, quarter_point, third_point, three_point

QUANTITIES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "flexural_3pt": lambda x: three_point(x["F_N"], x["l"], x["b"], x["h"]),
    "flexural_3rd_point": lambda x: third_point(x["F_N"], x["l"], x["b"], x["h"]),
    "flexural_quarter_point": lambda x: quarter_point(x["W_N"], x["L"], x["b"], x["d"]),
    "breaking_strength_S": lambda x: breaking_strength(x["F_N"], x["L"], x["b"]),
}
