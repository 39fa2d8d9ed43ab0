"""Derived identity: everything of ours has an id that follows from the element it belongs to."""

from __future__ import annotations

import uuid

_CHARS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$"
_VALUE = {c: i for i, c in enumerate(_CHARS)}


def expand(guid: str) -> uuid.UUID:
    """The UUID behind a 22-character GlobalId (IFC: IfcGloballyUniqueId); raises ValueError on other text."""
    if len(guid) != 22 or any(c not in _VALUE for c in guid):
        raise ValueError(f"not a GlobalId: {guid!r}")
    number = 0
    for c in guid:
        number = number * 64 + _VALUE[c]
    return uuid.UUID(int=number & ((1 << 128) - 1))


def compress(value: uuid.UUID) -> str:
    """The 22-character GlobalId of a UUID."""
    number, out = value.int, []
    for _ in range(22):
        number, digit = divmod(number, 64)
        out.append(_CHARS[digit])
    return "".join(reversed(out))


def derived(guid: str, kind: str, slot: str = "", ordinal: int = 0) -> str:
    """GlobalId of our `kind` at the logical `slot` of the element `guid`: compress(uuid5(guid, "bimcheck/kind/slot")).

    ordinal: 0 for the first holder of a GlobalId in the run, 1.. for later ones (duplicate GlobalIds in the input).
    A GlobalId that is not valid is hashed as text, so that it still has stable ids.
    """
    try:
        space = expand(guid)
    except ValueError:
        space = uuid.uuid5(uuid.NAMESPACE_OID, guid)
    again = f"/{ordinal}" if ordinal else ""
    return compress(uuid.uuid5(space, f"bimcheck/{kind}/{slot}{again}"))
