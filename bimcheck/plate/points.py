"""Layouts of anchors on a factored plate: reactions, moments, deflections per unit of pressure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bimcheck.plate import discs, samples
from bimcheck.plate.hermite import Array, Index
from bimcheck.plate.shape import Plate
from bimcheck.plate.supports import balance, mechanism, system


@dataclass(frozen=True)
class Solutions:
    """Columns of solved layouts, per unit of pressure (and of q / D for deflections); lengths in mm.

    Per layout (m,): offsets (m + 1,) into the anchors; mechanism; m_field [mm2], w_max [mm4].
    Per anchor (offsets[-1],): reaction [mm2], positive where it carries the load; radius [mm] of the disc, mean and
    deviator [mm2] on it, edge [mm] distance.  An anchor that is lost has reaction 0 and nan moments.  The rows of a
    mechanism are nan: it is reported, never solved.
    """

    nu: float
    offsets: Index
    mechanism: Array
    reaction: Array
    radius: Array
    mean: Array
    deviator: Array
    edge: Array
    m_field: Array
    w_max: Array

    def anchor_moment(self, c: Array | float) -> Array:
        """Largest principal moment per unit of pressure [mm2] averaged over discs of radius c [mm] at each anchor."""
        c = np.broadcast_to(np.asarray(c, dtype=float), self.radius.shape)
        return discs.moment(c, self.radius, self.mean, self.deviator, self.reaction, self.nu)


def solve_many(plate: Plate, layouts: Sequence[Array], spring: Array | float = np.inf) -> Solutions:
    """Solve layouts of anchors, each (n, 2) in mm, on one plate.

    spring: stiffness of every anchor over D [1/mm2], one value or one a layout; inf is rigid.
    """
    counts = np.array([len(a) for a in layouts], dtype=np.int64)
    offsets = np.concatenate([[0], np.cumsum(counts)])
    owner = np.repeat(np.arange(len(counts)), counts)
    anchors = plate.local(np.concatenate([np.asarray(a, dtype=float).reshape(-1, 2) for a in layouts]))
    points, which = np.unique(np.round(anchors, 9), axis=0, return_inverse=True)
    which = which.ravel()
    softness = 1 / (np.broadcast_to(np.asarray(spring, dtype=float), counts.shape) * plate.size**2)
    forward = plate.forward(points)
    reaction, rigid, loose = _forces(plate, forward, points, which, offsets, softness)
    shares = np.zeros((len(points), len(counts)))
    np.add.at(shares, (which, owner), np.nan_to_num(reaction))
    vectors = plate.backward(plate.pressed[:, None] - forward @ shares)
    fields = np.ascontiguousarray(vectors.T)[:, plate.topology.number]
    around = discs.circles(plate, points)
    average = discs.averages(around, fields.reshape(len(fields), -1), which, owner)
    mean, deviator = discs.components(average, plate.nu)
    field = samples.read(plate, fields)
    w = field.w + rigid[:, :1] + rigid[:, 1:] @ field.points.T
    m_field = _largest(plate, field, points, around.radius, which, owner)
    s = plate.size
    bad = loose[owner]
    return Solutions(
        plate.nu, offsets, loose, reaction * s**2, around.radius[which] * s,
        np.where(bad, np.nan, mean) * s**2, np.where(bad[:, None, None], np.nan, deviator) * s**2,
        discs.edge_distance(plate, points)[which] * s,
        np.where(loose, np.nan, m_field) * s**2, np.where(loose, np.nan, np.abs(w).max(axis=1)) * s**4,
    )


def _forces(plate: Plate, forward: Array, points: Array, which: Index, offsets: Index,
            softness: Array) -> tuple[Array, Array, Array]:
    """Reactions (anchors), rigid movements (m, 3) and which layouts are mechanisms (m,); nan for those."""
    flexibility, pressed = forward.T @ forward, forward.T @ plate.pressed
    counts = np.diff(offsets)
    reaction, rigid = np.full(offsets[-1], np.nan), np.full((len(counts), 3), np.nan)
    loose = np.ones(len(counts), dtype=bool)
    for n in np.unique(counts[counts > 2]):
        rows = np.flatnonzero(counts == n)
        at = which[offsets[rows][:, None] + np.arange(n)]
        loose[rows] = mechanism(points[at])
        rows, at = rows[~loose[rows]], at[~loose[rows]]
        if not len(rows):
            continue
        matrix = system(points[at], flexibility[at[:, :, None], at[:, None, :]], softness[rows, None] * np.ones(n))
        forces, rigid[rows] = balance(matrix, pressed[at], plate.static)
        reaction[offsets[rows][:, None] + np.arange(n)] = forces
    return reaction, rigid, loose


def _largest(plate: Plate, field: samples.Field, points: Array, radius: Array, which: Index, owner: Index) -> Array:
    """(m,) largest principal moment of the field outside the discs about the anchors."""
    mean = -(1 + plate.nu) * (field.xx + field.yy) / 2
    deviator = (1 - plate.nu) * np.hypot((field.xx - field.yy) / 2, field.xy)
    near = np.linalg.norm(field.points[None] - points[:, None], axis=-1) < radius[:, None]
    masked = np.zeros(mean.shape, dtype=bool)
    np.logical_or.at(masked, owner, near[which])
    return np.where(masked, 0.0, np.abs(mean) + deviator).max(axis=1)
