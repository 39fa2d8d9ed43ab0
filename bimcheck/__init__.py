"""bimcheck: ventilated facades with concealed rear fixings, checked from open IFC models.

In a host that holds a model in memory:

    result = bimcheck.enrich(model, "project.toml")   # the model gains sets and anchors
    result = bimcheck.load("out")                     # the result of an earlier `bimcheck run`
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"
__all__ = ["__version__", "enrich", "load"]
_WHERE = {"enrich": "bimcheck.in_process", "load": "bimcheck.store"}


def __getattr__(name: str) -> Any:
    """`enrich` and `load`, imported when first asked for: the command line starts without them."""
    if name in _WHERE:
        return getattr(import_module(_WHERE[name]), name)
    raise AttributeError(f"module 'bimcheck' has no attribute {name!r}")
