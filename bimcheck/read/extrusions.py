"""Plain extrusions read in one batch: profiles of one ring without arcs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.steptext import Step
from bimcheck.core.tables import Ragged
from bimcheck.read.place import X, Z, axes_of, directions, matrices, points

Floats = NDArray[Any]  # of float64
Ints = NDArray[np.int64]
CLOSED = 1e-6  # mm between the first and a last point that repeats it


@dataclass(frozen=True)
class Extruded:
    """rings: (k, 2) mm each, by item, empty where the item is no plain extrusion; matrix: (n, 4, 4) of the profile plane;
    vector: (n, 3) in that frame, mm."""

    rings: Ragged
    matrix: Floats
    vector: Floats

    @property
    def plain(self) -> NDArray[np.bool_]:
        return self.rings.lengths > 0


def extrusions(step: Step, factor: float, items: Ints) -> Extruded:
    """Items by number, of any kind."""
    found, ok = step.columns(items, "IFCEXTRUDEDAREASOLID", 4)
    axes = axes_of(step, found[:, 1])
    along, known = directions(step, found[:, 2], Z)
    ok &= axes.ok & known & np.isfinite(found[:, 3])
    length = np.linalg.norm(along, axis=1, keepdims=True)
    vector = along / np.where(length > 0, length, 1.0) * (found[:, 3:] * factor)
    return Extruded(_rings(step, factor, np.where(ok, found[:, 0], np.nan)), matrices(axes.location * factor, axes.axis, axes.ref), vector)


def _rings(step: Step, factor: float, profiles: Floats) -> Ragged:
    row, ring = _rectangles(step, profiles)
    others, curves = _curves(step, profiles)
    listed = Ragged(np.concatenate([ring.reshape(-1, 2), curves.values]) * factor, np.r_[4 * np.arange(len(row)), 4 * len(row) + curves.offsets])
    place = np.full(len(profiles), len(listed))
    place[np.r_[row, others]] = np.arange(len(listed))
    padded = Ragged(listed.values, np.r_[listed.offsets, listed.offsets[-1]])  # the last one is empty
    return padded.take(place)


def _rectangles(step: Step, profiles: Floats) -> tuple[Ints, Floats]:
    """Which profiles are rectangles, and their corners (k, 4, 2), file units."""
    found, ok = step.columns(profiles, "IFCRECTANGLEPROFILEDEF", 5)
    here = np.isnan(found[:, 2])
    placed, fits = step.columns(found[:, 2], "IFCAXIS2PLACEMENT2D", 2)
    location, known = points(step, placed[:, 0])
    x, read = directions(step, placed[:, 1], X[:2])
    row = np.flatnonzero(ok & np.isfinite(found[:, 3:]).all(axis=1) & (here | (fits & known & read)))
    x = x[row] / np.maximum(np.hypot(x[row, 0], x[row, 1]), 1e-300)[:, None]
    turn = np.stack([x, np.column_stack([-x[:, 1], x[:, 0]])], axis=1)
    corner = found[row, None, 3:] / 2 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    return row, np.einsum("nki,nij->nkj", corner, turn) + np.where(here[row, None], 0.0, location[row, :2])[:, None]


def _curves(step: Step, profiles: Floats) -> tuple[Ints, Ragged]:
    """Which profiles are bounded by straight lines, and their points, file units, a repeated last one left out."""
    found, ok = step.columns(profiles, "IFCARBITRARYCLOSEDPROFILEDEF", 3)
    curves = np.where(ok, found[:, 2], np.nan)
    row, line = _polylines(step, curves)
    other, listed = _indexed(step, curves)
    both = Ragged(np.concatenate([line.values, listed.values]), np.r_[line.offsets, line.offsets[-1] + listed.offsets[1:]])
    return np.r_[row, other], _opened(both)


def _polylines(step: Step, curves: Floats) -> tuple[Ints, Ragged]:
    row = np.flatnonzero(step.is_one(curves, "IFCPOLYLINE"))
    listed = step.values(step.rows(curves[row]))
    flat, ok = points(step, listed.values)
    whole = np.bincount(listed.rows[~ok], minlength=len(row)) == 0
    return row[whole], Ragged(flat[:, :2], listed.offsets).take(np.flatnonzero(whole))


def _indexed(step: Step, curves: Floats) -> tuple[Ints, Ragged]:
    """Indexed curves that state no segments: their points in order."""
    found, ok = step.columns(curves, "IFCINDEXEDPOLYCURVE", 3)
    ok &= np.isnan(found[:, 1]) & step.is_one(found[:, 0], "IFCCARTESIANPOINTLIST2D")
    row = np.flatnonzero(ok)
    listed = step.values(step.rows(found[row, 0]))
    keep = np.isfinite(listed.values)
    lengths = np.bincount(listed.rows[keep], minlength=len(row)) // 2
    return row, Ragged(listed.values[keep].reshape(-1, 2), np.r_[0, np.cumsum(lengths)].astype(np.int64))


def _opened(rings: Ragged) -> Ragged:
    if not len(rings.values):
        return rings
    last = rings.offsets[1:] - 1
    closed = (rings.lengths > 1) & (np.abs(rings.values[np.minimum(rings.offsets[:-1], len(rings.values) - 1)] - rings.values[last]).max(axis=1) < CLOSED)
    keep = np.ones(len(rings.values), bool)
    keep[last[closed]] = False
    return Ragged(rings.values[keep], np.r_[0, np.cumsum(rings.lengths - closed)].astype(np.int64))
