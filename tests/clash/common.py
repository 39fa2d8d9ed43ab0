"""Settings as a run flattens them, and panels of the truth files with their planted faults."""

from __future__ import annotations

from typing import Any

from bimcheck.checks.settings import Checks
from bimcheck.clash.settings import Clash
from bimcheck.layout.settings import Drilling
from bimcheck.read.settings import Reading
from bimcheck.relate.settings import Joints

SECTIONS = {"checks": Checks(), "clash": Clash(), "drilling": Drilling(), "reading": Reading(), "joints": Joints()}


def settings(**changed: Any) -> dict[str, Any]:
    """Dotted keys; changes as section__key."""
    values = {f"{s}.{k}": getattr(m, k) for s, m in SECTIONS.items() for k in type(m).model_fields}
    return values | {k.replace("__", "."): v for k, v in changed.items()}
