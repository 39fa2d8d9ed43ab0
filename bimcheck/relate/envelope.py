"""From rows with faces to the building's skin: facades with ends, and the facade and outward side of every row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from bimcheck.core.tables import Table
from bimcheck.relate import facades as fc
from bimcheck.relate import planes as pl
from bimcheck.relate import ring, sides, skin, structure
from bimcheck.relate.facts import Floats, Ints
from bimcheck.relate.frames import Faces, dot
from bimcheck.relate.settings import Relate

UPRIGHT = np.sin(np.radians(5.0))  # normals flatter than this are walls from which planes are made
ATTACH = 1500.0  # mm; a leaning panel or soffit belongs to a facade no farther off than this
SAME_WAY = np.cos(np.radians(10.0))


@dataclass(frozen=True)
class Rows:
    """What the skin needs of each row: normal and mid-point (side open), area, extent in height, raw face, rank (order
    of GlobalIds, by which facades are numbered)."""

    n: Floats
    mid: Floats
    area: Floats
    z0: Floats
    z1: Floats
    face: Faces
    rank: Ints
    thickness: Floats


@dataclass(frozen=True)
class Envelope:
    """facade (n,) of every row (-1 none), sign (n,) of outward on raw n (0 open), known (n,); ends, kinds and outlines."""

    facade: Ints
    sign: Floats
    known: np.ndarray
    ends: fc.Ends
    kind: np.ndarray
    rings: tuple[Floats, ...]
    ring_source: str
    names: np.ndarray


def find(rows: Rows, obstacles: Table, settings: Relate) -> Envelope:
    """The skin of the building that the rows make."""
    upright = np.abs(rows.n[:, 2]) < UPRIGHT
    found = pl.find_planes(rows.mid, rows.n, upright, rows.area, settings.facade_step_mm)
    low, high = pl.spans(rows.face, found)
    parts = pl.stretches(found, low, high, rows.z0, rows.z1, upright)
    chains = _chains(found, parts, settings)
    turned = skin.turn(found, parts, chains)
    cut = skin.cut(parts, turned)
    plan = structure.slab_plan(obstacles)
    solid = _solid(found, parts, turned)
    cut = sides.settle(cut, found, parts, solid, obstacles)
    label = np.where(parts.label >= 0, cut.stretch[parts.label], -1) if len(cut.plane) else np.full(len(rows.n), -1)
    return _finish(rows, found, cut, label, plan)


def _chains(found: pl.Planes, parts: pl.Stretches, settings: Relate) -> list[ring.Chain]:
    """Chains of the long stretches, with the short ones where only they close the ring."""
    length = parts.b - parts.a
    long = np.flatnonzero(length >= settings.return_mm)
    best = _trace(found, parts, long, settings.corner_reach_mm)
    if len(long) < len(length) and _ringed(best, length) < 0.999:
        every = _trace(found, parts, np.arange(len(length)), settings.corner_reach_mm)
        best = every if _ringed(every, length) > _ringed(best, length) else best
    inside = np.concatenate([c.stretch for c in best]) if best else np.zeros(0, int)
    rest = np.setdiff1d(np.arange(len(length)), inside)
    return best + [ring.Chain(np.array([k]), np.array([True]), False) for k in rest]


def _trace(found: pl.Planes, parts: pl.Stretches, use: Ints, reach: float) -> list[ring.Chain]:
    some = pl.Stretches(parts.plane[use], parts.a[use], parts.b[use], parts.z0[use], parts.z1[use], parts.label)
    return [ring.Chain(use[c.stretch], c.forward, c.closed) for c in ring.trace(found, some, reach)]


def _ringed(chains: list[ring.Chain], length: Floats) -> float:
    """Share of the long walls that lies in rings."""
    total = sum(length[c.stretch].sum() for c in chains)
    return float(sum(length[c.stretch].sum() for c in chains if c.closed) / total) if total else 0.0


def _solid(found: pl.Planes, parts: pl.Stretches, turned: list[skin.Turned]) -> shapely.Geometry | None:
    """Plan of what the rings enclose, courtyards left out."""
    outer = [shapely.Polygon(skin.corners(found, parts, t.chain)) for t in turned if t.kind == skin.OUTER]
    inner = [shapely.Polygon(skin.corners(found, parts, t.chain)) for t in turned if t.kind == skin.COURTYARD]
    return shapely.union_all(outer).difference(shapely.union_all(inner)) if outer else None


def _finish(rows: Rows, found: pl.Planes, cut: skin.Facades, label: Ints, plan: shapely.Geometry | None) -> Envelope:
    count = len(cut.plane)
    normal = found.normal[cut.plane] * cut.sign[:, None]
    upright = np.column_stack([normal, np.zeros(count)])
    own = upright[label] if count else np.zeros((len(label), 3))
    middle = dot(rows.mid, own) + rows.thickness / 2
    offset = fc.front_offsets(label, middle, rows.area, count)
    low, high = _reach_along(rows.face, label, upright, count)
    ends = fc.find_ends(cut, normal, offset, low, high)
    rings, source, ends = _rings(cut, ends, plan)
    hull = shapely.union_all([shapely.convex_hull(shapely.Polygon(r)) for r in rings]) if rings else None
    kind = fc.kinds(cut, ends, hull)
    label = _attach(rows, label, ends)
    sign = _signs(rows, label, normal)
    known = np.where(label >= 0, cut.known[label] if count else False, False)
    order = _order(cut, label, rows, ends)
    names = np.array([f"F{k + 1}" for k in range(count)], dtype=object)
    back = np.empty(count, dtype=np.int64)
    back[order] = np.arange(count)
    facade = np.where(label >= 0, back[label], -1) if count else label
    ends = fc.Ends(ends.normal[order], ends.offset[order], ends.position[order], ends.kind[order], ends.beyond[order])
    return Envelope(facade, sign, known, ends, kind[order], rings, source, names)


def _reach_along(face: Faces, label: Ints, normal: Floats, count: int) -> tuple[Floats, Floats]:
    u = np.column_stack([-normal[:, 1], normal[:, 0], np.zeros(count)])
    low, high = face.extent(u[label] if count else np.zeros((len(label), 3)))
    least, most = np.full(count, np.inf), np.full(count, -np.inf)
    has = label >= 0
    np.minimum.at(least, label[has], low[has])
    np.maximum.at(most, label[has], high[has])
    return least, most


def _rings(cut: skin.Facades, ends: fc.Ends, plan: shapely.Geometry | None) -> tuple[tuple[Floats, ...], str, fc.Ends]:
    """Outlines at the front faces: of the panels, else of the slabs moved out to them."""
    own = fc.outlines(cut, ends)
    outer = [chain for chain in own if cut.kind[cut.chain == chain][0] == skin.OUTER]
    if outer:
        return tuple(own.values()), "panels", ends
    sure = cut.known & (ends.position[:, 1] - ends.position[:, 0] > 600.0)
    grown = structure.moved_out(plan, ends.normal[sure], ends.offset[sure])
    if grown is None:
        return (), "open", ends
    closed, _ = fc.close_by(grown, ends)
    outline = np.asarray(shapely.get_coordinates(shapely.orient_polygons(grown).exterior))[:-1]
    return (outline,), "structure", closed


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
        fits = np.abs(ends.normal @ plan) > SAME_WAY if np.abs(rows.n[r, 2]) < 0.999 else np.full(len(gap), True)
        cost = np.where(fits, gap + beside, np.inf)
        best = int(np.argmin(cost))
        if cost[best] <= ATTACH:
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
