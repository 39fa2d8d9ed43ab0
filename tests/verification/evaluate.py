"""Check values through the functions that a run uses: evaluate(topic, quantity, inputs).

Each topic is a module of tests/verification/topics with QUANTITIES: quantity -> function of the inputs.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any


def evaluate(topic: str, quantity: str, inputs: dict[str, Any]) -> Any:
    """The value of one row.  Raises KeyError for a quantity that the topic does not have."""
    return import_module(f"tests.verification.topics.{topic}").QUANTITIES[quantity](inputs)
