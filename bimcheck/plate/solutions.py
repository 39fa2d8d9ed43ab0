"""Columns of solved layouts: everything a check scales with pressure, stiffness, thickness and design radius."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from bimcheck.core.tables import segment
from bimcheck.plate import corners, discs
from bimcheck.plate.hermite import Array, Index


@dataclass(frozen=True)
class Solutions:
    """m layouts, per unit of pressure q (deflections per q / D); lengths in mm.

    Per layout (m,): nu; pressure (1, or 0 for a settlement, whose reactions and moments are per D times settlement and
    deflections per settlement); mechanism, outside, refused: True where the layout cannot be solved (too few anchors or all on one
    line; an anchor off the plate; an outline or anchors that are no plate on points), nan in all else;
    m_field [mm2] largest principal moment of the field outside the discs; corner (3,) [mm2], corner_radius [mm] and
    corner_exponent: fit of the worst re-entrant corner (see corners.py; 0 where there is none); w_max [mm4];
    slope [mm3] largest deflection between adjacent anchors over their distance, or of an overhang over twice its
    length, and slope_length [mm] that length.

    Per anchor, ragged by offsets (m + 1,): reaction [mm2] positive where it carries the load; yielded [mm4];
    edge [mm] distance; radius [mm], mean [mm2], deviator (2, 2) [mm2] of its disc (see discs.py); coarse: the disc is
    small for the grid.  A lost anchor has reaction 0 and nan moments.
    """

    nu: Array
    pressure: Array
    offsets: Index
    mechanism: Array
    outside: Array
    refused: Array
    reaction: Array
    yielded: Array
    edge: Array
    radius: Array
    coarse: Array
    mean: Array
    deviator: Array
    m_field: Array
    corner: Array
    corner_radius: Array
    corner_exponent: Array
    w_max: Array
    slope: Array
    slope_length: Array

    def __len__(self) -> int:
        return len(self.offsets) - 1

    @property
    def owner(self) -> Index:
        return np.repeat(np.arange(len(self)), np.diff(self.offsets))

    def anchor_moment(self, c: Array | float) -> Array:
        """(anchors,) largest principal moment [mm2] averaged over discs of radius c [mm], one value or one an anchor."""
        c = np.broadcast_to(np.asarray(c, dtype=float), self.radius.shape)
        owner = self.owner
        return discs.moment(c, self.radius, mean=self.mean, deviator=self.deviator, reaction=self.reaction,
                            nu=self.nu[owner], pressure=self.pressure[owner])

    def corner_moment(self, t: Array | float) -> Array:
        """(m,) largest principal moment [mm2] at t / 2 from re-entrant corners, 0 where there are none."""
        return corners.at_radius(self.corner, np.asarray(t, dtype=float) / 2 / self.corner_radius, self.corner_exponent)

    def governing_moment(self, c: Array | float, t: Array | float) -> Array:
        """(m,) the largest of anchors, field and re-entrant corners [mm2]; nan where an anchor's moment is unknown."""
        at_anchors = self.anchor_moment(c)
        kept = self.reaction != 0
        worst = segment(np.maximum, at_anchors[kept], self.owner[kept], len(self), np.nan)
        return np.maximum(np.maximum(worst, self.m_field), self.corner_moment(t))

    def beyond_edge(self, c: Array | float) -> Array:
        """(m,) True where a design radius reaches the edge: out of the method's range."""
        return segment(np.maximum, (c >= self.edge).astype(float), self.owner, len(self), 0.0) > 0

    def with_lost(self, lost: Index) -> Solutions:
        """Put back the anchors that were left out, one a layout (-1 for none), with reaction 0 and nan moments."""
        gone = lost >= 0
        at = (self.offsets[:-1] + lost)[gone]
        offsets = self.offsets + np.concatenate([[0], np.cumsum(gone)])
        blank = {name: np.insert(getattr(self, name), at, value, axis=0) for name, value in _LOST.items()}
        return Solutions(**{f.name: getattr(self, f.name) for f in fields(self)} | blank | {"offsets": offsets})


FLAGS = {"mechanism", "outside", "refused", "coarse"}
OF_ANCHORS = {"reaction", "yielded", "edge", "radius", "coarse", "mean", "deviator"}
_LOST = {"reaction": 0.0, "yielded": np.nan, "edge": np.nan, "radius": np.nan, "coarse": False, "mean": np.nan, "deviator": np.nan}


def none() -> Solutions:
    """No layouts."""
    shapes = {"corner": (0, 3), "deviator": (0, 2, 2)}
    columns = {f.name: np.empty(shapes.get(f.name, (0,)), dtype=bool if f.name in FLAGS else float) for f in fields(Solutions)}
    return Solutions(**{**columns, "offsets": np.zeros(1, dtype=np.int64)})


def refused(nu: float, anchors: Sequence[int]) -> Solutions:
    """Layouts with so many anchors that could not be set up: nan, and the flag."""
    m, k = len(anchors), int(np.sum(anchors))
    columns = {f.name: np.full(k if f.name in OF_ANCHORS else m, np.nan) for f in fields(Solutions)}
    columns |= {"nu": np.full(m, nu), "corner": np.full((m, 3), np.nan), "deviator": np.full((k, 2, 2), np.nan)}
    columns |= {name: np.full(len(columns[name]), name == "refused") for name in FLAGS}
    return Solutions(**{**columns, "offsets": np.concatenate([[0], np.cumsum(anchors)]).astype(np.int64)})


def join(parts: Sequence[Solutions]) -> Solutions:
    """Layouts of several solutions, one after the other."""
    columns = {f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(Solutions) if f.name != "offsets"}
    counts = np.concatenate([np.diff(p.offsets) for p in parts])
    return Solutions(**columns, offsets=np.concatenate([[0], np.cumsum(counts)]))
