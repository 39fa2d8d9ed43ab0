"""The table `layouts`: each layout on rigid and on elastic supports, with each anchor ineffective, and with each one moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table, segment
from bimcheck.plate.hermite import Array, Index
from bimcheck.plate.jobs import Job, solve_shapes
from bimcheck.plate.solutions import Solutions

RIGID, ELASTIC, LOST, MOVED = 0, 1, 2, 3


class Asked(Protocol):
    """One layout to solve: rings (k, 2) [mm], outline first; anchors (n, 2) [mm]; design radius [mm]; softness D / k of
    one support [mm2], 0 where rigid; softness_moved the same for misfits, 0 where none is asked for; thickness [mm] for
    re-entrant corners."""

    @property
    def rings(self) -> Sequence[Array]: ...
    @property
    def nu(self) -> float: ...
    @property
    def anchors(self) -> Array: ...
    @property
    def radius(self) -> float: ...
    @property
    def softness(self) -> float: ...
    @property
    def softness_moved(self) -> float: ...
    @property
    def thickness(self) -> float: ...


@dataclass(frozen=True)
class _Rows:
    """What each solved row stands for: the layout asked for, its variant, and the anchor it lost (-1: none)."""

    asked: Index
    variant: Index
    lost: Index

    @property
    def standing(self) -> NDArray[np.bool_]:
        """All anchors carry the pressure."""
        return self.variant <= ELASTIC

    def of(self, variant: int) -> NDArray[np.bool_]:
        return self.variant == variant


def layouts(asked: Sequence[Asked], *, robust: bool = False, where: Path | None = None,
            processes: int | None = None) -> Table:
    """Solve layouts; a row each, in their order, with the columns of `layouts` that the plate knows.

    robust: also with each anchor ineffective in turn, on rigid supports (else nan in the columns that end in _lost).
    Where softness_moved is given also with each anchor moved by one unit, without pressure, per D (else nan in the
    columns that end in _moved, 1/mm2): the greatest of all anchors and both directions.
    m_field holds the re-entrant corners too.  Ragged, a value an anchor: share, share_min (greatest and least of rigid
    and elastic), share_lost [mm2], share_moved [1/mm2].  A layout that is a mechanism, or becomes one without an
    anchor, is nan there.
    """
    plates = _plates(asked)
    rows, jobs = _jobs(asked, plates, robust)
    solved = solve_shapes(jobs, where=where, processes=processes)
    m, counts = len(asked), np.array([len(a.anchors) for a in asked], dtype=np.int64)
    radius, thickness = (np.array([getattr(a, k) for a in asked], dtype=float) for k in ("radius", "thickness"))
    at_anchors = _largest_anchor_moment(solved, radius[rows.asked], rows.of(MOVED))
    at_corners = _corner(solved, thickness[rows.asked])
    in_field = np.maximum(solved.m_field, at_corners)
    support, field = (_worst(values, rows, rows.standing, m) for values in (at_anchors, in_field))
    support_moved, field_moved = (_worst(values, rows, rows.of(MOVED), m) for values in (at_anchors, in_field))
    soft = _last_of(rows, m)
    slope = _worst(solved.slope, rows, rows.standing, m)
    length = solved.slope_length[soft]
    shares = _shares(solved, rows, counts)
    every = segment(np.maximum, solved.reaction, solved.owner, len(solved), np.nan)
    return Table("layouts", m, {
        "m_support": support, "m_field": field, "m_corner": _worst(at_corners, rows, rows.standing, m), "m_plate": np.maximum(support, field),
        "share_most": _worst(every, rows, rows.standing, m),
        "w_unit": solved.w_max[soft], "w_span": slope * length, "span": length,
        "overhang": _overhang(asked, plates),
        "m_support_lost": _worst(np.maximum(at_anchors, in_field), rows, rows.of(LOST), m),
        "m_support_moved": support_moved, "m_field_moved": field_moved,
        "layout_flags": _flags(solved, rows, soft, radius), **shares,
    })


def _plates(asked: Sequence[Asked]) -> list[list[int]]:
    """Layouts of one outline and one Poisson's ratio together."""
    plates: dict[tuple[bytes | float, ...], list[int]] = {}
    for k, a in enumerate(asked):
        plates.setdefault((*(np.asarray(r, dtype=float).tobytes() for r in a.rings), a.nu), []).append(k)
    return list(plates.values())


def _jobs(asked: Sequence[Asked], plates: list[list[int]], robust: bool) -> tuple[_Rows, list[Job]]:
    """One job a plate, and what its rows stand for."""
    jobs, rows = [], []
    for members in plates:
        cases = [case for k in members for case in _cases(k, asked[k], robust)]
        first = asked[members[0]]
        of, _, lost, settled, spring = zip(*cases, strict=True)
        jobs.append(Job(first.rings, first.nu, [asked[k].anchors for k in of], spring, lost, settled))
        rows += [case[:3] for case in cases]
    columns = np.array(rows, dtype=np.int64).reshape(-1, 3)
    return _Rows(columns[:, 0], columns[:, 1], columns[:, 2]), jobs


def _cases(k: int, a: Asked, robust: bool) -> list[tuple[int, int, int, int, float]]:
    """Layout, variant, lost anchor, moved anchor and spring over D of what is solved for one layout."""
    each = range(len(a.anchors))
    cases = [(k, RIGID, -1, -1, np.inf)]
    if a.softness > 0:
        cases.append((k, ELASTIC, -1, -1, 1 / a.softness))
    cases += [(k, LOST, i, -1, np.inf) for i in each if robust]
    return cases + [(k, MOVED, -1, i, 1 / a.softness_moved) for i in each if a.softness_moved > 0]


def _largest_anchor_moment(solved: Solutions, radius: Array, moved: NDArray[np.bool_]) -> Array:
    """(rows,) nan where a moment is unknown.  Lost anchors carry nothing; where one moved, none may: three anchors yield."""
    values = solved.anchor_moment(radius[solved.owner])
    kept = (solved.reaction != 0) | moved[solved.owner]
    return segment(np.maximum, values[kept], solved.owner[kept], len(solved), np.nan)


def _corner(solved: Solutions, thickness: Array) -> Array:
    """0 where there is no re-entrant corner, nan where there is one and no thickness."""
    known = np.where(thickness > 0, thickness, np.nan)
    return np.where(solved.corner.any(axis=1), solved.corner_moment(known), 0.0)


def _worst(values: Array, rows: _Rows, among: Array, m: int) -> Array:
    return segment(np.maximum, values[among], rows.asked[among], m, np.nan)


def _last_of(rows: _Rows, m: int) -> Index:
    """(m,) the elastic row of each layout, the rigid one where there is none."""
    last = np.zeros(m, dtype=np.int64)
    standing = np.flatnonzero(rows.standing)
    last[rows.asked[standing]] = standing
    return last


def _shares(solved: Solutions, rows: _Rows, counts: Index) -> dict[str, Ragged]:
    offsets = np.concatenate([[0], np.cumsum(counts)])
    owner = solved.owner
    slot = np.arange(len(owner)) - solved.offsets[owner]
    place, variant = offsets[rows.asked[owner]] + slot, rows.variant[owner]
    standing, lost, moved = rows.standing[owner], (variant == LOST) & (slot != rows.lost[owner]), variant == MOVED
    parts = {
        "share": (np.maximum, solved.reaction, standing), "share_min": (np.minimum, solved.reaction, standing),
        "share_lost": (np.maximum, solved.reaction, lost), "share_moved": (np.maximum, np.abs(solved.reaction), moved),
    }
    return {name: Ragged(segment(reduce, values[rows], place[rows], int(offsets[-1]), np.nan), offsets)
            for name, (reduce, values, rows) in parts.items()}


def _overhang(asked: Sequence[Asked], plates: list[list[int]]) -> Array:
    """(m,) greatest distance of a corner of the outline from its nearest anchor; nan without anchors."""
    out = np.full(len(asked), np.nan)
    for members in plates:
        held = [k for k in members if len(asked[k].anchors)]
        if held:
            corners, anchors = np.asarray(asked[held[0]].rings[0]), np.concatenate([asked[k].anchors for k in held])
            x, y = (np.subtract.outer(corners[:, i], anchors[:, i]) for i in (0, 1))
            starts = np.cumsum([0, *(len(asked[k].anchors) for k in held[:-1])])
            out[held] = np.sqrt(np.minimum.reduceat(x * x + y * y, starts, axis=1).max(axis=0))
    return out


def _flags(solved: Solutions, rows: _Rows, soft: Index, radius: Array) -> Array:
    """(m,) text: what is out of the method's range, blank where nothing is."""
    owner = solved.owner
    beyond = segment(np.maximum, (radius[rows.asked[owner]] >= solved.edge).astype(float), owner, len(solved), 0.0) > 0
    coarse = segment(np.maximum, solved.coarse.astype(float), owner, len(solved), 0.0) > 0
    found = {
        "mechanism": solved.mechanism, "anchor off the plate": solved.outside,
        "outline, anchors or Poisson's ratio cannot be solved": solved.refused,
        "radius beyond the edge": beyond,
        "grid coarse at an anchor": coarse, "re-entrant corner": np.nan_to_num(solved.corner).any(axis=1),
    }
    flags = np.full(len(soft), "", dtype=object)
    for text, where in found.items():
        here = where[soft]
        flags[here] = [f"{f}, {text}" if f else text for f in flags[here]]
    return flags
