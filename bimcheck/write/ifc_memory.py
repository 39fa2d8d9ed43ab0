"""Taking an enriched file's entities of ours over into a model that is open in memory."""

from __future__ import annotations

from typing import Any

import ifcopenshell

from bimcheck.write.strip import strip


def add_block(model: Any, enriched: bytes) -> int:
    """Remove what an earlier run added to `model`, add the block of `enriched`; returns the number of entities added.

    enriched: the model's own text (without a block of ours) with the new block, so that entity numbers agree.
    """
    _remove_ours(model)
    whole = ifcopenshell.file.from_string(enriched.decode("utf-8"))
    known = {e.id() for e in model}
    new = sorted(i for i in (e.id() for e in whole) if i not in known)
    made = [model.create_entity(whole.by_id(number).is_a(), id=number) for number in new]
    for entity in made:  # all are there before any refers to another
        _fill(model, entity, whole.by_id(entity.id()))
    return len(new)


def _remove_ours(model: Any) -> None:
    text = model.to_string().encode("utf-8")
    kept = ifcopenshell.file.from_string(strip(text, "model").data.decode("utf-8"))
    stay = {e.id() for e in kept}
    for number in sorted((e.id() for e in model if e.id() not in stay), reverse=True):
        model.remove(model.by_id(number))


def _fill(model: Any, made: Any, entity: Any) -> None:
    for i, value in enumerate(entity):
        if value is not None and entity.attribute_type(i) != "DERIVED":
            made[i] = _moved(model, value)


def _moved(model: Any, value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(_moved(model, v) for v in value)
    if not hasattr(value, "is_a"):
        return value
    return model.by_id(value.id()) if value.id() else model.create_entity(value.is_a(), value[0])
