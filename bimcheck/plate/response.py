"""The solved fields of layouts on one plate, in plate units: forces, coefficients, and values at any point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bimcheck.core.errors import InputError
from bimcheck.plate.group import Group, grouped
from bimcheck.plate.hermite import Array, Index, along, locate, patch, weights
from bimcheck.plate.layouts import Layouts
from bimcheck.plate.nearfield import fading, missed
from bimcheck.plate.samples import ORDERS, rows, smoothed
from bimcheck.plate.shape import Plate
from bimcheck.plate.supports import balance, mechanism, system
from bimcheck.plate.symmetry import Symmetry, nothing_alike, symmetry

TOGETHER = 1e-6  # anchors nearer than this, in plate units, are one
FAR = 1.9  # beyond this, in plate units, anchors are not looked at beside those of other plates
OFF = 1e-6  # how far beyond the outline an anchor still counts as on the edge


@dataclass(frozen=True)
class Response:
    """Fields of m layouts under `pressure` (1 or 0) and settlements.

    reaction, yielded (anchors,): force and deflection of each anchor.  rigid: (m, 3).  fields: (m, rows, columns).
    loose, outside: (m,) a mechanism; an anchor off the plate: their values are nan.
    """

    plate: Group
    layouts: Layouts
    pressure: float
    reaction: Array
    yielded: Array
    rigid: Array
    fields: Array
    edge: Array
    loose: Array
    outside: Array

    def deflection(self, points: Array, owner: Index) -> Array:
        """(k, ...) deflection of layout owner[k] at points (k, ..., 2), without the near field of the anchors."""
        rigid = self.rigid[owner].reshape(len(owner), *([1] * (points.ndim - 2)), 3)
        return self._value(points, owner) + rigid[..., 0] + np.sum(rigid[..., 1:] * points, axis=-1)

    def near_field(self, points: Array, layout: int) -> Array:
        """(k,) deflection at points (k, 2) that the grid misses because of the anchors of one layout."""
        part = slice(*self.layouts.offsets[layout : layout + 2])
        anchors = self.layouts.points[self.layouts.which[part]]
        under = missed(self.plate.grid, locate(self.plate.grid, anchors)) * self.reaction[part]
        distance = np.linalg.norm(points[:, None] - anchors, axis=-1)
        return -fading(self.plate.grid, distance) @ under

    def moments(self, points: Array) -> Array:
        """(m, ..., 3) Mx, My, Mxy of all layouts at points (..., 2), sagging under pressure positive."""
        at = locate(self.plate.grid, points)
        values = self.fields.reshape(len(self.fields), -1)[:, patch(at, self.fields.shape[2])]
        xx, yy, xy = (np.einsum("m...ab,...ab->m...", values, weights(self.plate.grid, at, *o)) for o in ORDERS[1:])
        return self._bending(xx, yy, xy)

    def smooth_moments(self, points: Array) -> Array:
        """(m, k, 3) moments at points (k, 2): on a whole rectangle by the smoothed second derivatives."""
        if not self.plate.whole:
            return self.moments(points)
        grid = self.plate.grid
        u, v = points[:, 0] / grid.hx, points[:, 1] / grid.hy
        x, y = [rows(grid.nx, u, k) for k in (0, 1)], [rows(grid.ny, v, k) for k in (0, 1)]
        pairs = ((smoothed(grid.nx, u), y[0]), (x[0], smoothed(grid.ny, v)), (x[1], y[1]))
        xx, yy, xy = (np.einsum("ki,mij,kj->mk", a, self.fields, b, optimize=True) for a, b in pairs)
        return self._bending(xx / grid.hx**2, yy / grid.hy**2, xy / (grid.hx * grid.hy))

    def _bending(self, xx: Array, yy: Array, xy: Array) -> Array:
        nu = self.plate.nu
        return -np.stack([xx + nu * yy, yy + nu * xx, (1 - nu) * xy], axis=-1)

    def _value(self, points: Array, owner: Index) -> Array:
        grid = self.plate.grid.take(owner)
        at = locate(grid, points)
        places = patch(at, self.fields.shape[2])
        values = self.fields.ravel()[along(owner, places.ndim) * self.fields[0].size + places]
        return np.einsum("...ab,...ab->...", values, weights(grid, at))


def gather(plate: Plate | Group, layouts: Sequence[Array]) -> Layouts:
    """Layouts, each (n, 2) in mm, with the anchors that layouts of a plate share kept once, those of a plate together.

    Raises InputError for two anchors at one place.
    """
    counts = np.array([len(a) for a in layouts], dtype=np.int64)
    owner = np.repeat(np.arange(len(counts)), counts)
    group = grouped(plate, len(layouts))
    anchors = group.local(np.concatenate([np.empty((0, 2)), *(np.reshape(a, (-1, 2)) for a in layouts)]), owner)
    if not np.all(np.isfinite(anchors)):
        raise InputError("an anchor whose place is not a number", "plate", "correct the layout")
    if not group.alone and np.abs(anchors).max(initial=0.0) > FAR:
        raise InputError("an anchor far off the plate", "plate", "correct the layout")
    keys = np.column_stack([group.of[owner], np.round(anchors / TOGETHER)]) @ np.array([32 / TOGETHER**2, 1.0, 4 / TOGETHER])
    _, first, which = np.unique(keys, return_index=True, return_inverse=True)
    if len(np.unique(owner * len(first) + which)) < len(which):
        raise InputError("two anchors of one layout at the same place", "plate", "leave one of them out")
    offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    return Layouts(anchors[first], which, offsets, counts, owner, nearest_other(anchors, counts, offsets))


def nearest_other(anchors: Array, counts: Index, offsets: Index) -> Array:
    """(anchors,) distance to the nearest other anchor of the same layout, inf for a lone one."""
    apart = np.full(len(anchors), np.inf)
    for n in np.unique(counts[counts > 1]):
        places = offsets[np.flatnonzero(counts == n)][:, None] + np.arange(n)
        x, y = (anchors[places][:, :, None, k] - anchors[places][:, None, :, k] for k in (0, 1))
        squared = x * x + y * y
        squared[:, np.arange(n), np.arange(n)] = np.inf
        apart[places] = np.sqrt(squared.min(axis=-1))
    return apart


def respond(plate: Plate | Group, layouts: Layouts, softness: Array, settled: Array | None = None) -> Response:
    """Solve layouts under a unit pressure, or under `settled` (anchors,) settlements alone where given.

    softness: (m,) D / k of every anchor in plate units, 0 is rigid.
    """
    pressure = 1.0 if settled is None else 0.0
    group = grouped(plate, len(layouts.counts))
    owner, of_point = layouts.owner, np.zeros(len(layouts.points), dtype=np.int64)
    of_point[layouts.which] = group.of[owner]
    parts = group.parts(of_point)
    alike = symmetry(group, layouts) if group.whole and settled is None else nothing_alike(layouts)
    odd = np.zeros((len(group.plates), 2), dtype=bool)
    np.logical_or.at(odd, group.of, ~alike.lines)
    influences = group.influences(layouts.points, parts, odd)
    edge = group.edge(layouts.points[layouts.which], owner)
    outside = np.zeros(len(layouts.counts), dtype=bool)
    np.logical_or.at(outside, owner, edge < -OFF)
    beneath = group.plate_grid.take(of_point)
    flexibility = np.diag(missed(beneath, locate(beneath, layouts.points)))
    pressed = np.zeros(len(layouts.points))
    for part, influence in zip(parts, influences, strict=True):
        flexibility[np.ix_(part, part)] += influence.flexibility
        pressed[part] = influence.pressed
    load = Load(pressed[layouts.which] if settled is None else -settled, pressure * group.static)
    reaction, rigid, loose = _forces(layouts, flexibility, softness, load, outside, alike.where(~odd[group.of]))
    shares = np.zeros((len(layouts.points), len(layouts.counts)))
    np.add.at(shares, (layouts.which, owner), np.nan_to_num(reaction))
    fields = group.fields(influences, shares, parts, pressure)
    yielded = reaction * softness[owner] + (0.0 if settled is None else settled)
    return Response(group, layouts, pressure, reaction, yielded, rigid, fields, edge, loose, outside)


@dataclass(frozen=True)
class Load:
    """What the anchors must hold: the pinned plate's deflection at each (anchors,), less settlement; and the resultant of
    each layout (m, 3)."""

    moved: Array
    resultant: Array


def _forces(layouts: Layouts, flexibility: Array, softness: Array, load: Load,
            outside: Array, alike: Symmetry) -> tuple[Array, Array, Array]:
    """Reactions (anchors), rigid movements (m, 3) and which layouts are mechanisms (m,); nan where not solved."""
    points, which = layouts.points, layouts.which
    reaction, rigid = np.full(len(which), np.nan), np.full((len(outside), 3), np.nan)
    loose = layouts.counts < 3
    for n in np.unique(layouts.counts[~loose]):
        some, places = layouts.of_count(n)
        loose[some] = mechanism(points[which[places]])
        sound = ~(loose | outside)[some]
        if not sound.any():
            continue
        some, places = some[sound], places[sound]
        at = which[places]
        own = alike.closed(flexibility[at[:, :, None], at[:, None, :]], places)
        matrix = system(points[at], own, softness[some, None] * np.ones(n))
        reaction[places], rigid[some] = balance(matrix, load.moved[places], load.resultant[some])
    return reaction, rigid, loose
