"""From rows with faces to the building's skin: facades with ends, and the facade and outward side of every row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate import facades as fc
from bimcheck.relate import loose, sides, skin, structure, tiers
from bimcheck.relate import planes as pl
from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.frames import Faces, dot
from bimcheck.relate.settings import Relate
from bimcheck.relate.tiers import Rows

UPRIGHT = np.sin(np.radians(5.0))  # normals flatter than this are walls from which planes are made
ATTACH = 1500.0  # mm; a soffit, reveal or return belongs to a facade no farther off than this
LEANING = np.sin(np.radians(60.0))
SURE = 600.0  # mm; longer facades count when the outline of the structure is moved out
LEANS_OVER = 6000.0  # mm; so far the upper rows of a leaning part may be from the upright facade below
RINGED = 0.8  # share of the skin that must lie in rings, or the plan is open: a closed kiosk does not close the building
SAME_WAY = np.cos(np.radians(10.0))


@dataclass(frozen=True)
class Envelope:
    """in_plane (n,): the row lies in its facade's plane, not square to it or leaning.  facade (n,) of every row (-1 none), sign (n,) of outward on raw n (0 open), known (n,); ends, kinds and outlines."""

    facade: Ints
    in_plane: np.ndarray
    sign: Floats
    known: np.ndarray
    ends: fc.Ends
    kind: np.ndarray
    rings: tuple[Floats, ...]
    ring_source: str
    around: Ints  # (m,) ring of the building that each facade belongs to; a courtyard's is the one around it; -1 none
    names: np.ndarray


def find(rows: Rows, obstacles: Table, settings: Relate) -> Envelope:
    """The skin of the building that the rows make."""
    wall = _walls(rows)
    found = pl.find_planes(_feet(rows), rows.n, wall, rows.area, settings.facade_step_mm)
    parts, chains = tiers.trace(rows, found, wall, settings)
    turned = skin.turn(found, parts, chains)
    plan = structure.plan_of(obstacles)
    turned = sides.settle(turned, found, parts, [_solid(found, parts, turned), plan], obstacles)
    solid = _solid(found, parts, turned)
    cut = skin.cut(parts, turned)
    label = np.where(parts.label >= 0, cut.stretch[parts.label], -1) if len(cut.plane) else np.full(len(rows.n), -1)
    short = np.flatnonzero(wall & (label < 0))
    own = np.zeros(len(rows.n))
    if len(short):
        own[short] = loose.sides(rows, short, label, solid, obstacles)
    return _finish(rows, found, cut, (label, own, plan), settings.recess_mm)


def _walls(rows: Rows) -> np.ndarray:
    """Rows that make planes: upright ones; where most of the skin leans, leaning ones too."""
    upright, leaning = np.abs(rows.n[:, 2]) < UPRIGHT, np.abs(rows.n[:, 2]) < LEANING
    return upright if rows.area[upright].sum() >= 0.5 * rows.area[leaning].sum() else leaning


def _feet(rows: Rows) -> Floats:
    """Mid-points carried down the slope to the lowest height, where leaning rows of one plane fall on one line."""
    plan = np.maximum(1.0 - rows.n[:, 2] ** 2, 1e-6)
    down = rows.z0.min(initial=np.inf) - rows.mid[:, 2]
    feet = rows.mid.copy()
    feet[:, :2] -= rows.n[:, :2] * (rows.n[:, 2] / plan * down)[:, None]
    return np.where(np.abs(rows.n[:, 2:]) < UPRIGHT, rows.mid, feet)


def _solid(found: pl.Planes, parts: pl.Stretches, turned: list[skin.Turned]) -> shapely.Geometry | None:
    """Plan of what the rings enclose, courtyards left out."""
    outer = [shapely.Polygon(skin.corners(found, parts, t.chain)) for t in turned if t.kind == skin.OUTER]
    inner = [shapely.Polygon(skin.corners(found, parts, t.chain)) for t in turned if t.kind == skin.COURTYARD]
    return shapely.union_all(outer).difference(shapely.union_all(inner)) if outer else None


def _finish(rows: Rows, found: pl.Planes, cut: skin.Facades, settled: tuple[Ints, Floats, shapely.Geometry | None], recess: float) -> Envelope:
    label, own_sign, plan = settled
    count = len(cut.plane)
    normal = found.normal[cut.plane] * cut.sign[:, None]
    upright = np.column_stack([normal, np.zeros(count)])
    own = upright[label] if count else np.zeros((len(label), 3))
    middle = dot(rows.mid, own) + rows.thickness / 2
    offset = fc.front_offsets(label, middle, rows.area, count)
    low, high = _reach_along(rows.face, label, upright, count)
    ends = fc.find_ends(cut, normal, offset, low, high)
    rings, source, ends = _rings(cut, ends, plan)
    around = _around(cut, rings, source)
    if source == "panels" and _ringed(rows, cut, label) < RINGED:
        source = "open"
    kind = fc.kinds(cut, ends, [rings[r] if r >= 0 else None for r in around], recess)
    skin_rows, label = label >= 0, _attach(rows, label, ends)
    toward = _signs(rows, label, normal)
    sign = np.where(skin_rows | (toward != 0), toward, own_sign)
    known = np.where(label >= 0, cut.known[label] if count else False, own_sign != 0)
    order = _order(cut, label, rows, ends)
    names = np.array([f"F{k + 1}" for k in range(count)], dtype=object)
    back = np.empty(count, dtype=np.int64)
    back[order] = np.arange(count)
    facade = np.where(label >= 0, back[label], -1) if count else label
    ends = fc.Ends(ends.normal[order], ends.offset[order], ends.position[order], ends.kind[order], ends.beyond[order])
    return Envelope(facade, skin_rows, sign, known, ends, kind[order], rings, source, around[order], names)


def _ringed(rows: Rows, cut: skin.Facades, label: Ints) -> float:
    """Share of the skin that lies in rings."""
    has = label >= 0
    return float(rows.area[has & (cut.kind[label] != skin.OPEN)].sum() / rows.area[has].sum())


def _reach_along(face: Faces, label: Ints, normal: Floats, count: int) -> tuple[Floats, Floats]:
    u = np.column_stack([-normal[:, 1], normal[:, 0], np.zeros(count)])
    low, high = face.extent(u[label] if count else np.zeros((len(label), 3)))
    least, most = np.full(count, np.inf), np.full(count, -np.inf)
    has = label >= 0
    np.minimum.at(least, label[has], low[has])
    np.maximum.at(most, label[has], high[has])
    return least, most


def _rings(cut: skin.Facades, ends: fc.Ends, plan: shapely.Geometry | None) -> tuple[tuple[Floats, ...], str, fc.Ends]:
    """Outlines at the front faces: of the panels, else closed along the slabs moved out to them."""
    rings = [int(c) for c in np.unique(cut.chain[cut.kind != skin.OPEN])]
    if (cut.kind == skin.OUTER).any():
        return tuple(fc.outline(cut, ends, c) for c in rings), "panels", ends
    sure = cut.known & (ends.position[:, 1] - ends.position[:, 0] > SURE)
    grown = structure.moved_out(plan, ends.normal[sure], ends.offset[sure])
    if grown is None:
        return (), "open", ends
    closed, edge = fc.close_by(grown, ends)
    if (edge[sure] >= 0).all():
        return (structure.ring(grown),), "structure", closed
    length = np.bincount(cut.chain, ends.position[:, 1] - ends.position[:, 0])
    members = np.flatnonzero(cut.chain == np.argmax(length))
    first, last = members[cut.before[members] < 0], members[cut.after[members] < 0]
    if len(first) != 1 or len(last) != 1 or edge[first[0]] < 0 or edge[last[0]] < 0:
        return (), "open", closed
    points = fc.outline(cut, closed, int(np.argmax(length)))
    return (structure.completed(points, int(edge[first[0]]), int(edge[last[0]]), grown),), "structure", closed


def _around(cut: skin.Facades, rings: tuple[Floats, ...], source: str) -> Ints:
    """For every facade the ring of its building."""
    if source != "panels":
        return np.full(len(cut.plane), len(rings) - 1)
    own = [int(c) for c in np.unique(cut.chain[cut.kind != skin.OPEN])]
    solid = [shapely.Polygon(r) for r in rings]
    outer = [k for k, c in enumerate(own) if cut.kind[cut.chain == c][0] == skin.OUTER]
    largest = max(outer, key=lambda k: solid[k].area)
    found = np.full(len(cut.plane), largest)
    for k, chain in enumerate(own):
        holders = [m for m in outer if k not in outer and solid[m].contains(solid[k].representative_point())]
        found[cut.chain == chain] = min(holders, key=lambda m: solid[m].area) if holders else k
    return found


def _attach(rows: Rows, label: Ints, ends: fc.Ends) -> Ints:
    """Leaning panels and soffits: the facade whose plane their face comes nearest to."""
    label = label.copy()
    for r in np.flatnonzero(label < 0) if len(ends.offset) else []:
        points = rows.face.points[rows.face.offsets[r]:rows.face.offsets[r + 1], :2]
        away = points @ ends.normal.T - ends.offset
        s = points @ ends.u.T
        gap = np.where((away.min(axis=0) <= 0) & (away.max(axis=0) >= 0), 0.0, np.abs(away).min(axis=0))
        beside = np.maximum(0.0, np.maximum(ends.position[:, 0] - s.max(axis=0), s.min(axis=0) - ends.position[:, 1]))
        plan = rows.n[r, :2] / max(np.linalg.norm(rows.n[r, :2]), 1e-9)
        # A leaning panel leans over its own facade; soffits, reveals and returns may stand square to theirs.
        fits = np.abs(ends.normal @ plan) > SAME_WAY if UPRIGHT < np.abs(rows.n[r, 2]) < LEANING else np.full(len(gap), True)
        cost = np.where(fits, gap + beside, np.inf)
        best = int(np.argmin(cost))
        if cost[best] <= (LEANS_OVER if UPRIGHT < np.abs(rows.n[r, 2]) < LEANING else ATTACH):
            label[r] = best
    return label


def _signs(rows: Rows, label: Ints, normal: Floats) -> Floats:
    has = label >= 0
    sign = np.zeros(len(label))
    if has.any():
        toward = np.einsum("ij,ij->i", rows.n[has, :2], normal[label[has]])
        sign[has] = np.where(np.abs(toward) > 0.1, np.sign(toward), 0.0)
    return sign


def _order(cut: skin.Facades, label: Ints, rows: Rows, ends: fc.Ends) -> Ints:
    """Numbering: chain by chain as passed, each begun at the facade that holds its first GlobalId: nothing that turning
    or shifting the model would change."""
    count = len(cut.plane)
    first = np.full(count, len(rows.rank), dtype=np.int64)
    np.minimum.at(first, label[label >= 0], rows.rank[label >= 0])
    groups = []
    for chain in np.unique(cut.chain):
        members = np.flatnonzero(cut.chain == chain)
        start = int(np.argmin(first[members]))
        closed = cut.kind[members[0]] != skin.OPEN
        length = float((ends.position[members, 1] - ends.position[members, 0]).sum())
        turned = np.roll(members, -start) if closed else members
        groups.append((not closed, -round(length), int(first[members].min()), turned))
    groups.sort(key=lambda g: g[:3])
    return np.concatenate([g[3] for g in groups]) if groups else np.zeros(0, dtype=np.int64)
