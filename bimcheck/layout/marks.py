"""Marks: panels that are drilled alike share one; it follows from what is drilled, so that it is the same every run."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table

_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # nothing that is misread on a label
LENGTH = 6
_DRILLED = ("thickness", "hole_depth", "hole_diameter", "embedment", "counterbore_set", "bolt_length")  # numbers, 0.1 mm
_NAMED = ("material", "surface", "item", "face")


def marks(panels: Table, anchors: Table, previous: Mapping[str, str] | None = None) -> NDArray:
    """(n,) text: the drilling mark of each panel, blank where the result is not pass or nothing is drilled.

    panels: result, outline and, where there, the numbers and names of what is drilled; anchors: panel (or candidate with
    panels' `candidate`), x, y, slot.  previous: drilling key -> mark of an earlier run, which is kept.  Mirror images have
    other positions and another mark.  A code that is taken already is lengthened by a letter.
    """
    rows = np.flatnonzero(panels["result"] == "pass") if "result" in panels else np.arange(panels.n)
    keys = drilling_keys(panels, anchors, rows)
    code = codes(sorted({k for k in keys if k}), previous or {})
    out = np.full(panels.n, "", dtype=object)
    out[rows] = [code.get(k, "") for k in keys]
    return out


def drilled_alike(panels: Table) -> NDArray[np.int64]:
    """(n,) number of the group of panels whose marks differ by their holes only."""
    facts = _facts(panels)
    known: dict[object, int] = {}
    return np.array([known.setdefault((panels["outline"][r].tobytes(), numbers, names), len(known)) for r, (numbers, names) in enumerate(facts)], dtype=np.int64)


def _facts(panels: Table) -> list[tuple[bytes, tuple[str, ...]]]:
    numbers = _numbers(panels)
    return [(numbers[r].tobytes(), names) for r, names in enumerate(_names(panels))]


def _numbers(panels: Table) -> NDArray[np.int64]:
    numbers = np.column_stack([np.empty((panels.n, 0)), *(panels[c] for c in _DRILLED if c in panels)])
    return np.round(np.nan_to_num(numbers) * 10).astype(np.int64)


def _names(panels: Table) -> list[tuple[str, ...]]:
    """Names of what is drilled, and, where depth is set from the front face of a measured lot, where the hole ends."""
    names = list(zip(*(map(str, panels[c].tolist()) for c in _NAMED if c in panels), strict=True)) or [()] * panels.n
    if "t_lot" not in panels:
        return names
    ends = np.where(np.asarray(panels["measured"], dtype=bool), panels["t_lot"] - panels["hole_depth"], np.nan)
    return [name if end != end else (*name, f"from the front {end:.1f}") for name, end in zip(names, ends.tolist(), strict=True)]  # noqa: PLR0124


def drilling_keys(panels: Table, anchors: Table, rows: NDArray[np.int64]) -> list[str]:
    """A hash of everything the shop needs to drill each of the rows; blank where there is no anchor."""
    panel = _panel_of(panels, anchors)
    order = np.lexsort((anchors["slot"], panel))
    first = np.searchsorted(panel[order], np.arange(panels.n + 1))
    holes = np.round(np.column_stack([anchors["x"], anchors["y"]]) * 10).astype(np.int64)[order]
    numbers, names = _numbers(panels), _names(panels)
    keys, known = [], {}
    for r in rows.tolist():
        own, ring = holes[first[r] : first[r + 1]], panels["outline"][r]
        what = (ring.tobytes(), own.tobytes(), numbers[r].tobytes(), names[r])  # few distinct ones: spelt out once each
        if what not in known:
            known[what] = _key(ring, own, numbers[r], names[r]) if len(own) else ""
        keys.append(known[what])
    return keys


def _key(ring: NDArray, holes: NDArray, numbers: NDArray, names: Sequence[str]) -> str:
    facts = (_ring(ring), holes.tolist(), numbers.tolist(), list(names))
    return hashlib.sha256(repr(facts).encode()).hexdigest()


def _panel_of(panels: Table, anchors: Table) -> NDArray[np.int64]:
    if "panel" in anchors:
        return anchors["panel"]
    owner = np.full(int(anchors["candidate"].max(initial=-1)) + 1, -1, dtype=np.int64)
    there = panels["candidate"] >= 0
    owner[panels["candidate"][there]] = np.flatnonzero(there)
    return owner[anchors["candidate"]]


def _ring(outline: NDArray) -> list[list[list[int]]]:
    """Outline and cut-outs in tenths of a millimetre, whatever vertex the author began with."""
    rings = []
    for k in np.unique(outline[:, 2]):
        ring = np.round(outline[outline[:, 2] == k, :2] * 10).astype(np.int64)
        start = int(np.lexsort((ring[:, 1], ring[:, 0]))[0])
        rings.append(np.roll(ring, -start, axis=0).tolist())
    return [rings[0], *sorted(rings[1:])]


def codes(keys: Sequence[str], previous: Mapping[str, str]) -> dict[str, str]:
    """A short mark for each key: the previous one, else letters of the hash, longer where those are taken."""
    out = {k: previous[k] for k in keys if k in previous}
    taken = set(previous.values())
    for key in keys:
        if key in out:
            continue
        letters = _spelt(key)
        length = next(n for n in range(LENGTH, len(letters) + 1) if letters[:n] not in taken)
        out[key] = letters[:length]
        taken.add(out[key])
    return out


def _spelt(key: str) -> str:
    number, letters = int(key, 16), []
    for _ in range(24):
        number, digit = divmod(number, len(_LETTERS))
        letters.append(_LETTERS[digit])
    return "".join(letters)
