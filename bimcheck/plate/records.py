"""Solved layouts as bytes: one record a layout, so that any set of them can be kept and put together again.

Numbers are rounded to ten digits: what lies beyond depends on which layouts happened to be solved together.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bimcheck.plate.hermite import Array
from bimcheck.plate.solutions import FLAGS, Solutions, none

PER_LAYOUT = {
    "nu": 1, "pressure": 1, "mechanism": 1, "outside": 1, "refused": 1, "m_field": 1, "corner": 3, "corner_radius": 1,
    "corner_exponent": 1, "w_max": 1, "slope": 1, "slope_length": 1,
}
PER_ANCHOR = {"reaction": 1, "yielded": 1, "edge": 1, "radius": 1, "coarse": 1, "mean": 1, "deviator": 4}
DIGITS = 10
SHAPES = {"corner": (3,), "deviator": (2, 2)}
_LAYOUT, _ANCHOR = sum(PER_LAYOUT.values()), sum(PER_ANCHOR.values())


def pack(solutions: Solutions) -> list[bytes]:
    """One record a layout: its own numbers, then those of its anchors."""
    layouts, anchors = (_side_by_side(solutions, widths) for widths in (PER_LAYOUT, PER_ANCHOR))
    starts = solutions.offsets
    return [layouts[k].tobytes() + anchors[starts[k] : starts[k + 1]].tobytes() for k in range(len(solutions))]


def length(anchors: int) -> int:
    """Bytes of the record of a layout with so many anchors."""
    return 8 * (_LAYOUT + anchors * _ANCHOR)


def unpack(records: Sequence[bytes]) -> Solutions:
    """The layouts of records made by `pack`, in their order."""
    if not records:
        return none()
    sizes = np.array([len(r) // 8 for r in records], dtype=np.int64)
    flat = np.frombuffer(b"".join(records))
    starts = np.cumsum(sizes) - sizes
    own = starts[:, None] + np.arange(_LAYOUT)
    of_anchors = np.ones(len(flat), dtype=bool)
    of_anchors[own] = False
    offsets = np.concatenate([[0], np.cumsum((sizes - _LAYOUT) // _ANCHOR)])
    columns = _apart(flat[own], PER_LAYOUT) | _apart(flat[of_anchors].reshape(-1, _ANCHOR), PER_ANCHOR)
    return Solutions(**columns, offsets=offsets)


def _side_by_side(solutions: Solutions, widths: dict[str, int]) -> Array:
    columns = {name: np.asarray(getattr(solutions, name), dtype=float).reshape(-1, w) for name, w in widths.items()}
    sizes = {name: np.abs(column) for name, column in columns.items()}
    if "deviator" in sizes:  # by symmetry often nought but for noise: its digits are those of the mean
        sizes["deviator"] = np.maximum(sizes["deviator"], sizes["mean"])
    return _rounded(np.hstack([columns[name] for name in widths]), np.hstack([sizes[name] for name in widths]))


def _rounded(values: Array, sizes: Array) -> Array:
    """Ten significant digits of `sizes`; nan and inf as they are."""
    with np.errstate(divide="ignore", invalid="ignore"):
        step = 10.0 ** (np.floor(np.log10(sizes)) - (DIGITS - 1))
        rounded = np.round(values / step) * step
    return np.where(np.isfinite(rounded), rounded + 0.0, values)


def _apart(block: Array, widths: dict[str, int]) -> dict[str, Array]:
    columns, at = {}, 0
    for name, width in widths.items():
        column = block[:, at : at + width].reshape(-1, *SHAPES.get(name, ()))
        columns[name] = column != 0 if name in FLAGS else column
        at += width
    return columns
