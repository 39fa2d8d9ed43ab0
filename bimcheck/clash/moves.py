"""Ways out of a clash: the least move of a row or a column of anchors that frees all of them.

A move is told only where it was tried: no body in the zones of the moved anchors, edge distance and spacing kept, and a
support in reach of those that had one.  Where rows follow the rails, anchors move along the rail that carries them, or to
the height of another.  What the plate says of the new places is for the next run.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from bimcheck.clash.carriers import carrying
from bimcheck.clash.contacts import ends
from bimcheck.clash.frames import Frames, frames_of
from bimcheck.clash.hits import Scene, entering
from bimcheck.clash.placed import place
from bimcheck.clash.places import Floats, Ints
from bimcheck.core.tables import Ragged

ALIGNED = 0.5  # mm within which anchors stand in one row or column
RAIL = 1.0  # kind of support in rails_y
NO_MORE = 0.01  # mm; less than what the zones are smaller than stated


@dataclass(frozen=True)
class Spots:
    """Anchors in their panels: at (k, 2) x, y; edge, spacing (k,) mm required; support (k,) row of obstacles or -1."""

    at: Floats
    edge: Floats
    spacing: Floats
    support: Ints


@dataclass(frozen=True)
class Lines:
    """Rows (axis 1) and columns (axis 0) of anchors of one panel: axis (g,), members (g,) rows of anchors."""

    axis: Ints
    members: Ragged


def line_of(frames: Frames, spots: Spots, anchors: Ints) -> dict[int, Ints]:
    """The row and the column that some anchors of one panel stand in, by axis; none where they stand in several."""
    panel = np.searchsorted(frames.starts, anchors[0], side="right") - 1
    first = int(frames.starts[panel])
    own = np.arange(first, int(frames.starts[panel + 1]) if panel + 1 < len(frames.starts) else len(frames.mouth))
    found = {}
    for axis in (0, 1):
        place = spots.at[:, axis]
        if np.ptp(place[anchors]) <= ALIGNED:
            found[axis] = own[np.abs(place[own] - place[anchors[0]]) <= ALIGNED]
    return found


def moves(frames: Frames, scene: Scene, spots: Spots, lines: Lines, settings: Mapping[str, Any]) -> Floats:
    """(g,) least move along its axis, mm, that frees each line; nan where none was found."""
    out = np.full(len(lines.axis), np.nan)
    most = float(settings["clash.move_most_mm"])
    if not len(out) or most <= 0:
        return out
    bound = _bound(frames, scene, spots, lines) if settings.get("layout.follow_rails", True) else np.zeros(len(out), dtype=bool)
    proposed = _proposed(frames, scene, lines, most)
    proposed = Ragged.of([_other_rails(frames, scene, spots, lines, g) if held else own for g, (held, own) in enumerate(zip(bound, proposed, strict=True))])
    return _first_free(frames, scene, spots, lines, proposed, settings)


def to_rails(frames: Frames, scene: Scene, spots: Spots, lines: Lines, settings: Mapping[str, Any]) -> Floats:
    """(g,) least move that hangs all anchors of rows on a level rail behind their panel; nan where none was found."""
    above = float(settings.get("layout.clip_offset_mm", 0.0))
    shifts, owner = [], frames.owner
    for members in lines.members if "rails_y" in scene.elements else ():
        rails = scene.elements["rails_y"][int(owner[members[0]])]
        shifts.append(_least_first(rails[rails[:, 2] == RAIL, 0] + above - spots.at[members[0], 1]))
    if not shifts:
        return np.full(len(lines.axis), np.nan)
    all_carried = replace(spots, support=np.zeros_like(spots.support))
    return _first_free(frames, scene, all_carried, lines, Ragged.of(shifts), settings)


def _first_free(frames: Frames, scene: Scene, spots: Spots, lines: Lines, proposed: Ragged, settings: Mapping[str, Any]) -> Floats:
    """(g,) the first of the moves proposed for each line that is free; nan where none is."""
    out = np.full(len(lines.axis), np.nan)
    for turn in range(int(proposed.lengths.max(initial=0))):
        line = np.flatnonzero(np.isnan(out) & (proposed.lengths > turn))
        shift = proposed.values[proposed.offsets[line] + turn]
        good = _free(frames, scene, spots, lines, line, shift, settings)
        out[line[good]] = shift[good]
    return out


def _bound(frames: Frames, scene: Scene, spots: Spots, lines: Lines) -> np.ndarray:
    """(g,) lines that would leave the rail they hang on: rows on level rails, columns on upright ones."""
    anchors, of = lines.members.values, lines.members.rows
    support = spots.support[anchors]
    on = np.flatnonzero(support >= 0)
    on = on[scene.obstacles["role"][support[on]] == "rail"]
    group = np.searchsorted(frames.starts, anchors[on], side="right") - 1
    placed, slot = place(scene.obstacles, frames.axes, frames.axes.of[group], support[on])
    width, height, _ = (placed.high - placed.low)[:, slot]
    across = np.where(width > height, 1, 0)
    out = np.zeros(len(lines.axis), dtype=bool)
    out[of[on[lines.axis[of[on]] == across]]] = True
    return out


def _other_rails(frames: Frames, scene: Scene, spots: Spots, lines: Lines, line: int) -> Floats:
    """Moves of a row to the heights of other level rails behind its panel, as high over their axis, the least first."""
    first = int(lines.members[line][0])
    if lines.axis[line] == 0 or "rails_y" not in scene.elements:
        return np.zeros(0)
    rails = scene.elements["rails_y"][int(frames.owner[first])]
    own = rails[rails[:, 1] == spots.support[first], 0]
    if not len(own):
        return np.zeros(0)
    shift = rails[(rails[:, 2] == RAIL), 0] - own[0]
    return _least_first(shift)


def _least_first(shift: Floats) -> Floats:
    return np.array(sorted(shift[np.abs(shift) > ALIGNED].tolist(), key=lambda s: (abs(s), -s)))


def _proposed(frames: Frames, scene: Scene, lines: Lines, most: float) -> Ragged:
    """Whole millimetres (g,) at which some zone of the line just leaves some body, the least move first."""
    found: list[list[int]] = [[] for _ in lines.axis]
    for axis in (0, 1):
        line = np.flatnonzero(lines.axis == axis)
        members = lines.members.take(line)
        some = _picked(frames, scene, members.values)
        grow = np.array([most, 0.0] if axis == 0 else [0.0, most])
        windows = [replace(z, half=tuple(np.add(z.half, grow).tolist()), round=False) for z in scene.zones]
        near = entering(some, replace(scene, zones=windows), np.full(len(members.values), -2))
        for table, hit in ((scene.obstacles, near[0]), near[1]):
            for k, zone in enumerate(scene.zones):
                rows = np.flatnonzero(hit.zone[:, k])
                low, high = ends(some, table, (hit.anchor[rows], hit.body[rows]), zone, axis)
                up, down = np.ceil(high + zone.half[axis] - NO_MORE), np.floor(low - zone.half[axis] + NO_MORE)
                for shift in (up, down):
                    there = np.flatnonzero((np.abs(shift) <= most) & (shift != 0))
                    for g, s in zip(line[members.rows[hit.anchor[rows[there]]]].tolist(), shift[there].tolist(), strict=True):
                        found[g].append(int(s))
    return Ragged.of([np.array(sorted(set(f), key=lambda s: (abs(s), -s)), dtype=float) for f in found])


def _picked(frames: Frames, scene: Scene, anchors: Ints, moved: Floats | None = None) -> Frames:
    """Frames of some anchors, moved by (k, 2) in their panels."""
    owner = frames.owner[anchors]
    mouth = frames.mouth[anchors]
    if moved is not None:
        mouth = mouth + moved[:, :1] * scene.elements["u"][owner] + moved[:, 1:] * scene.elements["v"][owner]
    return frames_of(mouth, scene.elements, owner)


def _free(frames: Frames, scene: Scene, spots: Spots, lines: Lines, line: Ints, shift: Floats, settings: Mapping[str, Any]) -> np.ndarray:
    """(len(line),) which lines may stand moved by `shift`."""
    members = lines.members.take(line)
    anchors, of = members.values, members.rows
    moved = np.zeros((len(anchors), 2))
    moved[np.arange(len(anchors)), lines.axis[line][of]] = shift[of]
    there = spots.at[anchors] + moved
    bad = np.zeros(len(line), dtype=bool)
    bad[of[~_edges_kept(frames, scene, spots, anchors, there)]] = True
    bad[of[~_spacing_kept(frames, spots, members, there)]] = True
    some = _picked(frames, scene, anchors, moved)
    support = carrying(some, scene.obstacles, scene.supports, settings)
    bad[of[(support < 0) & (spots.support[anchors] >= 0)]] = True
    hit, (_, met) = entering(some, scene, support)
    bad[of[np.r_[hit.anchor, met.anchor]]] = True
    return ~bad


def _edges_kept(frames: Frames, scene: Scene, spots: Spots, anchors: Ints, there: Floats) -> np.ndarray:
    panel, of = np.unique(frames.owner[anchors], return_inverse=True)
    outline = np.array([_area(scene.elements["outline"][r]) for r in panel.tolist()], dtype=object)
    area = outline[of]
    points = shapely.points(there)
    return shapely.contains(area, points) & (shapely.distance(shapely.boundary(area), points) >= spots.edge[anchors] - NO_MORE)


def _area(outline: Floats) -> shapely.Polygon:
    rings = [outline[outline[:, 2] == k, :2] for k in np.unique(outline[:, 2])]
    return shapely.Polygon(rings[0], rings[1:])


def _spacing_kept(frames: Frames, spots: Spots, members: Ragged, there: Floats) -> np.ndarray:
    """Against the panel's other anchors; within the line nothing changes."""
    anchors, of = members.values, members.rows
    group = np.searchsorted(frames.starts, anchors, side="right") - 1
    many = frames.counts[group]
    index = np.repeat(np.arange(len(anchors)), many)
    other = np.arange(len(index)) + np.repeat(frames.starts[group] - np.cumsum(many) + many, many)
    size = len(spots.at)
    own = np.isin(of[index] * size + other, of * size + anchors)
    apart = np.linalg.norm(there[index] - spots.at[other], axis=1)
    close = ~own & (apart < np.maximum(spots.spacing[anchors][index], spots.spacing[other]) - NO_MORE)
    out = np.ones(len(anchors), dtype=bool)
    out[index[close]] = False
    return out
