"""Layouts of anchors on a factored plate: reactions, moments and deflections as columns that scale with the load.

    solutions = solve_many(build(rings, nu), layouts)
    tension = q * solutions.reaction;  m = q * solutions.anchor_moment(c);  w = q / D * solutions.w_max
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bimcheck.core.errors import InputError
from bimcheck.plate import corners, deflection, discs
from bimcheck.plate.group import Group, grouped
from bimcheck.plate.hermite import Array, Index, along
from bimcheck.plate.response import Layouts, Response, gather, respond
from bimcheck.plate.shape import Plate
from bimcheck.plate.solutions import Solutions, none

COARSE = 0.8  # discs smaller than this many cells: the anchor moment may be off by more than a percent


def solve(plate: Plate, anchors: Array, *, spring: float = np.inf, lost: int = -1, settled: int = -1) -> Solutions:
    """One layout (n, 2) in mm; see solve_many."""
    return solve_many(plate, [anchors], spring=spring, lost=[lost], settled=[settled] if settled >= 0 else None)


def solve_many(
    plate: Plate | Group,
    layouts: Sequence[Array],
    *,
    spring: Array | float = np.inf,
    lost: Sequence[int] | Index | None = None,
    settled: Sequence[int] | Index | None = None,
) -> Solutions:
    """Solve layouts of anchors, each (n, 2) in mm, on one plate or on plates that are read together.

    spring: stiffness of every anchor over D [1/mm2], one value or one a layout; inf is rigid.  lost: index of an
    anchor that carries nothing, one a layout, -1 for none.  settled: where given, no pressure acts; this anchor of
    each layout has moved by one unit: reactions and moments are then per D times the settlement [1/mm2], deflections
    per unit of settlement.  Raises InputError for an index that names no anchor, or two anchors at one place.
    """
    if not len(layouts):
        return none()
    lost = np.full(len(layouts), -1) if lost is None else np.asarray(lost, dtype=np.int64)
    _check_index(layouts, lost)
    group = grouped(plate, len(layouts))
    kept = gather(group, [np.delete(a, k, axis=0) if k >= 0 else a for a, k in zip(layouts, lost, strict=True)])
    softness = 1 / (np.broadcast_to(np.asarray(spring, dtype=float), len(layouts)) * group.size**2)
    response = respond(group, kept, softness, None if settled is None else _moved(layouts, kept, lost, settled))
    solutions = columns(response)
    return solutions.with_lost(lost) if np.any(lost >= 0) else solutions


def _check_index(layouts: Sequence[Array], index: Index) -> None:
    if any(k >= len(a) for a, k in zip(layouts, index, strict=True)):
        raise InputError("an anchor index beyond the layout's anchors", "plate", "count anchors from 0")


def _moved(layouts: Sequence[Array], kept: Layouts, lost: Index, settled: Sequence[int] | Index) -> Array:
    """(anchors,) 1 at the settled ones that are kept."""
    settled = np.asarray(settled, dtype=np.int64)
    _check_index(layouts, settled)
    if np.any(settled < 0) or np.any(settled == lost):
        raise InputError("a settlement at an anchor that is not there", "plate", "name an anchor that is kept")
    moved = np.zeros(kept.offsets[-1])
    moved[kept.offsets[:-1] + settled - ((lost >= 0) & (lost < settled))] = 1.0
    return moved


def columns(response: Response) -> Solutions:
    """Read what checks need off the fields, in mm."""
    group, layouts = response.plate, response.layouts
    anchors = layouts.points[layouts.which]
    radius = discs.radii(group.grid.take(layouts.owner).size, response.edge, layouts.apart)
    flat = response.fields.reshape(len(response.fields), -1)
    mean, deviator = discs.components(discs.averages(group.grid, flat, anchors, radius, layouts.owner),
                                      group.nu[layouts.owner] if isinstance(group.nu, np.ndarray) else group.nu)
    points, outline = group.sampler.points, group.sampler.outline
    w, *second = group.sampler.read(response.fields)
    w = w + response.rigid[:, :1] + response.rigid[:, 1:2] * points[..., 0] + response.rigid[:, 2:] * points[..., 1]
    slope, length = deflection.relative(response, points[..., outline, :], w[:, outline])
    return _scaled(
        response, radius=radius, mean=mean, deviator=deviator,
        m_field=_field_moment(response, second, radius),
        corner=_corner(response),
        w_max=np.abs(w).max(axis=1), slope=slope, slope_length=length,
    )


def _corner(response: Response) -> Array:
    """(m, 3) fit of the worst re-entrant corner."""
    sharp = response.plate.corners
    if not len(sharp.at):
        return np.zeros((len(response.fields), 3))
    return corners.fitted(sharp, response.moments(sharp.points))


def _field_moment(response: Response, second: Sequence[Array], radius: Array) -> Array:
    """(m,) largest principal moment outside the discs about the anchors and away from re-entrant corners."""
    layouts, group = response.layouts, response.plate
    xx, yy, xy = second
    nu, points = along(group.nu, 2), group.sampler.points
    size = (1 + nu) / 2 * np.abs(xx + yy) + (1 - nu) * np.hypot((xx - yy) / 2, xy)
    own = points[layouts.owner] if points.ndim > 2 else points
    near = _within(own, layouts.points[layouts.which], np.nan_to_num(radius))
    hidden = np.zeros(size.shape, dtype=bool)
    held = layouts.counts > 0
    hidden[held] = np.logical_or.reduceat(near, layouts.offsets[:-1][held], axis=0)
    if len(group.corners.at):
        hidden |= _within(points, group.corners.at, group.corners.hidden).any(axis=0)
    return np.where(hidden, 0.0, size).max(axis=1)


def _within(points: Array, centres: Array, radius: Array | float) -> Array:
    """(centres, points) True within the radius of a centre; points (p, 2) of all, or (centres, p, 2)."""
    x, y = (points[..., k] - centres[:, k, None] for k in (0, 1))
    return x * x + y * y < np.broadcast_to(np.square(radius), len(centres))[:, None]


def _scaled(response: Response, *, radius: Array, mean: Array, deviator: Array, m_field: Array, corner: Array,
            w_max: Array, slope: Array, slope_length: Array) -> Solutions:
    """From plate units to mm; nan where a layout was not solved."""
    layouts, group = response.layouts, response.plate
    unsolved, owner = response.loose | response.outside, layouts.owner
    s, m = np.broadcast_to(group.size, len(unsolved)), len(unsolved)
    per_force = s**2 if response.pressure else s**-2
    per_length = s**4 if response.pressure else np.ones(m)
    each, off = s[owner], unsolved[owner]
    cell = np.broadcast_to(group.grid.size, m)[owner]
    return Solutions(
        nu=np.broadcast_to(group.nu, m).copy(), pressure=np.full(m, response.pressure), offsets=layouts.offsets,
        mechanism=response.loose, outside=response.outside, refused=np.zeros(m, dtype=bool),
        reaction=response.reaction * per_force[owner], yielded=response.yielded * per_length[owner],
        edge=response.edge * each, radius=radius * each, coarse=radius < COARSE * cell,
        mean=np.where(off, np.nan, mean) * per_force[owner],
        deviator=np.where(off[:, None, None], np.nan, deviator) * per_force[owner, None, None],
        m_field=np.where(unsolved, np.nan, m_field) * per_force,
        corner=np.where(unsolved[:, None], np.nan, corner) * per_force[:, None],
        corner_radius=np.broadcast_to(group.corners.radius, m) * s,
        corner_exponent=np.full(m, group.corners.exponent),
        w_max=np.where(unsolved, np.nan, w_max) * per_length,
        slope=np.where(unsolved, np.nan, slope) * per_length / s, slope_length=np.where(unsolved, np.nan, slope_length) * s,
    )


def values_at(plate: Plate, anchors: Array, at: Array, *, spring: float = np.inf) -> tuple[Array, Array]:
    """Deflection per q / D [mm4] (k,) and Mx, My, Mxy per q [mm2] (k, 3) at points `at` (k, 2) in mm of one layout.

    Moments grow without bound towards an anchor: they are of use outside the discs of solve_many only.
    """
    response = respond(plate, gather(plate, [anchors]), np.array([1 / (spring * plate.size**2)]))
    points = plate.local(np.reshape(at, (-1, 2)))
    first = np.zeros(1, dtype=np.int64)
    w = response.deflection(points[None], first)[0] + response.near_field(points, 0)
    return w * plate.size**4, response.smooth_moments(points)[0] * plate.size**2
