"""Attributes of entities by position, without the checks that cost four times the read itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ifcopenshell
from ifcopenshell import ifcopenshell_wrapper

_Instance: Any = ifcopenshell_wrapper.entity_instance


def _item(entity: Any, index: int) -> Any:
    return entity[index]


# Older versions wrap what the library hands out in a class of their own; these are read by item.
_bare = isinstance(ifcopenshell.entity_instance, type) and issubclass(_Instance, ifcopenshell.entity_instance)
get: Callable[[Any, int], Any] = _Instance.get_argument if _bare else _item


def kind(entity: Any) -> str:
    """Name of the entity's class."""
    return entity.is_a()
