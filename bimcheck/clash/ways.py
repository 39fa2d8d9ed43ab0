"""What may be done about a body in an anchor's zones, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from bimcheck.clash.frames import Frames
from bimcheck.clash.hits import WAYS, Hits, Scene
from bimcheck.clash.moves import Lines, Spots, line_of, moves, to_rails
from bimcheck.clash.places import Floats, Ints, local
from bimcheck.core.tables import Ragged, Table

AXES = ("column", "row")


def spots_of(frames: Frames, elements: Table, anchors: Table, order: Ints, support: Ints, settings: Mapping[str, Any]) -> Spots:
    """The anchors in their panels, with what the checks and the layout require of them."""
    def required(column: str, setting: str) -> Floats:
        own = anchors[column][order] if column in anchors else np.zeros(len(order))
        return np.fmax(own, float(settings.get(setting, 0.0)))
    at = local(elements, frames.owner, frames.mouth)[:, :2]
    return Spots(at, required("edge_required", "layout.edge_mm"), required("spacing_required", "layout.spacing_mm"), support)


def ways_out(frames: Frames, scene: Scene, spots: Spots, slot: Ints, hits: Hits, groups: Sequence[tuple[int, int]],
             drilled: np.ndarray, elsewhere: Mapping[int, str], settings: Mapping[str, Any]) -> list[str]:
    """A text for every group of hits; drilled (elements,): whose holes are there already; elsewhere: layouts of other
    panels, by row of elements."""
    lines = [{} if drilled[frames.owner[hits.anchor[a]]] else line_of(frames, spots, hits.anchor[a:b]) for a, b in groups]
    keys = sorted({(axis, *m.tolist()) for line in lines for axis, m in line.items()})
    whole = Lines(np.array([k[0] for k in keys], dtype=np.int64), Ragged.of([np.array(k[1:]) for k in keys], dtype=np.int64))
    least = dict(zip(keys, moves(frames, scene, spots, whole, settings).tolist(), strict=True))
    out = []
    for (a, _), line in zip(groups, lines, strict=True):
        owner = int(frames.owner[hits.anchor[a]])
        own = {k: least[k] for k in ((axis, *m.tolist()) for axis, m in line.items())}
        text = _text(spots, slot, hits, a, bool(drilled[owner]), own, settings)
        out.append(text if drilled[owner] or owner not in elsewhere else f"{text}; or {elsewhere[owner]}")
    return out


def ways_to_rails(frames: Frames, scene: Scene, spots: Spots, slot: Ints, alone: Sequence[Ints], settings: Mapping[str, Any]) -> list[str]:
    """A text for the anchors of one panel each that nothing carries: row by row."""
    rows = [(k, row) for k, anchors in enumerate(alone) for row in _rows_of(frames, spots, anchors)]
    lines = Lines(np.ones(len(rows), dtype=np.int64), Ragged.of([row for _, row in rows], dtype=np.int64))
    texts: list[list[str]] = [[] for _ in alone]
    for (k, row), shift in zip(rows, to_rails(frames, scene, spots, lines, settings).tolist(), strict=True):
        if np.isfinite(shift):
            texts[k].append(f"move {_line(spots, slot, (1, *row.tolist()), shift)} (seen from outside), on the rail there")
    tried = ": free of bodies, edge distance and spacing kept; plate to be run again"
    return [f"{'; '.join(t)}{tried}" if t else "add a rail or a bracket there, or let rows follow the rails" for t in texts]


def _rows_of(frames: Frames, spots: Spots, anchors: Ints) -> list[Ints]:
    """The whole rows that anchors of one panel stand in, from the lowest."""
    found = {tuple(line_of(frames, spots, anchors[k : k + 1])[1].tolist()) for k in range(len(anchors))}
    return [np.array(row) for row in sorted(found, key=lambda r: spots.at[r[0], 1])]


def _text(spots: Spots, slot: Ints, hits: Hits, k: int, drilled: bool, least: Mapping[tuple[int, ...], float], settings: Mapping[str, Any]) -> str:
    move, way = float(hits.move[k]), int(hits.way[k])
    body = f"the body by {move:.1f} mm {WAYS[(way + 2) % 4]}" if np.isfinite(move) else "the body"
    if drilled:
        return f"the holes are drilled: move {body} (seen from outside)"
    found = {key: s for key, s in least.items() if np.isfinite(s)}
    if not found:
        most = float(settings["clash.move_most_mm"])
        looked = f"no move of its row or column up to {most:g} mm is free of bodies, edge distance and spacing kept; " if most > 0 else ""
        return f"{looked}move {body} (seen from outside)"
    key = min(found, key=lambda q: (abs(found[q]), q))
    return f"move {_line(spots, slot, key, found[key])} (seen from outside): {_kept(spots, key)}; plate to be run again; or move {body}"


def _line(spots: Spots, slot: Ints, key: tuple[int, ...], shift: float) -> str:
    axis, *members = key
    way = WAYS[axis] if shift > 0 else WAYS[axis + 2]
    named = ", ".join(f"A{s}" for s in sorted(slot[members].tolist()))
    return f"the {AXES[axis]} of {named} {way} by {abs(shift):.0f} mm" if len(members) > 1 else f"{named} {way} by {abs(shift):.0f} mm"


def _kept(spots: Spots, key: tuple[int, ...]) -> str:
    rails = " and a support in reach" if (spots.support[list(key[1:])] >= 0).any() else ""
    return f"free of bodies there, edge distance, spacing{rails} kept"
