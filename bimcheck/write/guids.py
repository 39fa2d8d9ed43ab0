"""Derived GlobalIds by the column: what `core.ids.derived` gives one at a time."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from hashlib import sha1

import numpy as np

from bimcheck.core.ids import expand

_CHARS = np.frombuffer(b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$", np.uint8)

_VALUES = np.full(256, 255, np.uint8)
_VALUES[_CHARS] = np.arange(64)


def space(guid: str) -> bytes:
    """The 16 bytes ids are derived from: the UUID of a GlobalId, or of its text where it is malformed."""
    try:
        return expand(guid).bytes
    except ValueError:
        return uuid.uuid5(uuid.NAMESPACE_OID, guid).bytes


def spaces(guids: Sequence[str]) -> list[bytes]:
    """`space` of each."""
    text = "".join(guids).encode("ascii", "replace")
    codes = _VALUES[np.frombuffer(text, np.uint8)]
    if len(text) != 22 * len(guids) or any(len(g) != 22 for g in guids) or (codes > 63).any():
        return [space(g) for g in guids]
    words = codes.reshape(len(guids), 22).astype(np.uint32)
    fours = np.concatenate([np.zeros((len(guids), 2), np.uint32), words], axis=1).reshape(len(guids), 6, 4)
    three = (fours[..., 0] << 18) | (fours[..., 1] << 12) | (fours[..., 2] << 6) | fours[..., 3]
    raw = np.stack([(three >> shift) & 255 for shift in (16, 8, 0)], axis=-1).astype(np.uint8).reshape(len(guids), 18)
    data = np.ascontiguousarray(raw[:, 2:]).tobytes()
    return [data[i : i + 16] for i in range(0, len(data), 16)]


def suffix(kind: str, slot: str = "", ordinal: int = 0) -> bytes:
    """The name hashed after the space; `ordinal` counts further holders of a duplicated GlobalId."""
    return f"bimcheck/{kind}/{slot}{f'/{ordinal}' if ordinal else ''}".encode()


def derive(spaces: Iterable[bytes], suffixes: Iterable[bytes]) -> list[str]:
    """compress(uuid5(space, suffix)) for each pair (RFC 4122, 4.3)."""
    digests = b"".join([sha1(a + b).digest()[:16] for a, b in zip(spaces, suffixes, strict=True)])
    raw = np.frombuffer(digests, np.uint8).reshape(-1, 16).copy()
    raw[:, 6] = (raw[:, 6] & 0x0F) | 0x50  # version 5
    raw[:, 8] = (raw[:, 8] & 0x3F) | 0x80  # variant of the RFC
    return _compress(raw)


def derive_all(spaces: Sequence[bytes], one_suffix: bytes) -> list[str]:
    return derive(spaces, [one_suffix] * len(spaces))


def _compress(raw: np.ndarray) -> list[str]:
    """(n, 16) bytes as 22 characters each, six bits a character from the right."""
    padded = np.concatenate([np.zeros((len(raw), 2), np.uint8), raw], axis=1).reshape(len(raw), 6, 3).astype(np.uint32)
    word = (padded[..., 0] << 16) | (padded[..., 1] << 8) | padded[..., 2]
    sixes = np.stack([(word >> shift) & 63 for shift in (18, 12, 6, 0)], axis=-1).reshape(len(raw), 24)[:, 2:]
    text = np.ascontiguousarray(_CHARS[sixes]).tobytes().decode("ascii")
    return [text[i : i + 22] for i in range(0, len(text), 22)]


def fingerprint(base: bytes, name: bytes) -> bytes:
    """The 104 bits of a derived id that neither version nor variant is marked in."""
    return unmarked(sha1(base + name).digest()[:16])


def unmarked(raw: bytes) -> bytes:
    """The same of the 16 bytes of an id."""
    return raw[:6] + raw[9:]
