"""Bodies that are no two flat parallel planes, one at a time: tapered, curved, folded, profiled, or no plate at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.read.bodies import Shell
from bimcheck.read.curved import read_curved
from bimcheck.read.flat import OUTSIDE
from bimcheck.read.found import FLAT, Odd
from bimcheck.read.polygons import largest, numbered, rings_of_polygon
from bimcheck.read.soup import RUNS, Soup, longest_edge, make

Floats = NDArray[Any]  # of float64
PARALLEL = np.cos(np.radians(10.0))  # faces steeper to each other than this are no faces of one plate
THIN = 4.0  # a profiled plate is this many times as wide as it is deep
FACING = 0.2  # share of its silhouette that its main face covers at least
MANY = 4000  # faces; a body of more is no panel of plain geometry
GRAIN = 1e-4  # mm; coordinates are rounded to this before faces are put together


@dataclass(frozen=True)
class Plane:
    """A plane of a body: area, outward normal, its faces."""

    area: float
    normal: Floats
    offset: float
    faces: list[int]


def read_odd(shell: Shell, taper: float) -> list[Odd]:
    """One or two readings of the body (from either face); none where it is no plate."""
    soup = make([shell])
    if not 0 < len(soup.area) <= MANY:
        return []
    whole = float(soup.area.sum())
    planes = _planes(soup)
    first = planes[0]
    partner = next((p for p in planes[1:] if p.normal @ first.normal < -PARALLEL), None)
    if partner and first.area + partner.area >= 0.5 * whole and partner.area >= 0.3 * first.area \
            and _outside(soup, first, partner) <= OUTSIDE * whole:
        return [o for o in (_plate(soup, first, partner, taper), _plate(soup, partner, first, taper)) if o]
    return read_curved(soup) or _folded(soup, planes, whole, taper) or _profiled(soup, first)


def _planes(soup: Soup) -> list[Plane]:
    """Planes of the body by falling area, normals outward: as wound where the body is closed, else away from its middle."""
    order = np.argsort(-soup.area, kind="stable")
    points = np.array([soup.points[soup.a[soup.edge_face == f][0]] if (soup.edge_face == f).any() else np.zeros(3) for f in order])
    middle = soup.points[np.unique(soup.a)].mean(axis=0)
    taken = np.zeros(len(order), bool)
    wound = _winding(soup, points - middle, order)
    out = []
    for i, f in enumerate(order):
        if taken[i] or soup.area[f] <= 1e-6:
            continue
        n = soup.normal[f]
        offset = float(points[i] @ n)
        same = ~taken & (np.abs(soup.normal[order] @ n) > 0.9999995) & (np.abs(points @ n - offset) < 0.1)
        same[i] = True
        taken |= same
        sign = wound or (1.0 if offset - middle @ n >= 0 else -1.0)
        out.append(Plane(float(soup.area[order[same]].sum()), sign * n, sign * offset, order[same].tolist()))
    return sorted(out, key=lambda p: -p.area)


def _winding(soup: Soup, points: Floats, order: NDArray[np.int64]) -> float:
    """1 where faces are wound outward, -1 inward, 0 where they are not wound one way; points: one of each face in `order`."""
    vector = soup.normal[order] * soup.area[order, None]
    if np.linalg.norm(vector.sum(axis=0)) > 1e-4 * soup.area.sum() or not _paired(soup):
        return 0.0
    return float(np.sign(np.einsum("ij,ij->", vector, points)))


def _paired(soup: Soup) -> bool:
    """Every edge is passed once in each direction."""
    big = len(soup.points)
    return bool(np.array_equal(np.sort(soup.a * big + soup.b), np.sort(soup.b * big + soup.a)))


def _outside(soup: Soup, face: Plane, partner: Plane) -> float:
    """Area of faces that lie before or behind both planes; without bound where one of them runs along the plate."""
    count = np.maximum(np.bincount(soup.edge_face, minlength=len(soup.area)), 1)
    middle = np.column_stack([np.bincount(soup.edge_face, soup.points[soup.a, k], minlength=len(soup.area)) for k in range(3)]) / count[:, None]
    before = np.maximum(middle @ face.normal - face.offset, middle @ partner.normal - partner.offset)
    beyond = before > 0.1
    runs = longest_edge(soup, beyond)[0] > RUNS * np.sqrt((face.area + partner.area) / 2)
    return np.inf if runs else float(soup.area[beyond].sum())


def _plate(soup: Soup, face: Plane, partner: Plane, taper: float) -> Odd | None:
    """The body seen from `face`: thickness from the corners of its outline to the partner's plane."""
    n = face.normal
    u, v = _axes(soup, face)
    origin = n * face.offset
    shape, rest = _outline(soup, face, origin, u, v)
    if shape.is_empty or rest > 0.01 * shape.area:
        return None
    rings = rings_of_polygon(shape)
    back, _ = _outline(soup, partner, origin, u, v)
    corners = origin + rings[0] @ np.array([u, v])
    depth = (corners @ partner.normal - partner.offset) / (n @ partner.normal)
    least, most = float(depth.min()), float(depth.max())
    if least < FLAT:
        return None
    form = "tapered" if most - least > taper else "flat"
    other = numbered(rings_of_polygon(back)) if not back.is_empty else np.empty((0, 3))
    return Odd(form, origin + soup.base[0], u, v, n, least, most, numbered(rings), other)


def _axes(soup: Soup, face: Plane) -> tuple[Floats, Floats]:
    """In-plane axes along the longest edge of the face."""
    mine = np.isin(soup.edge_face, face.faces)
    edge = soup.points[soup.b[mine]] - soup.points[soup.a[mine]]
    u = edge[int(np.argmax(np.round(np.linalg.norm(edge, axis=1), 3)))]
    u = u - (u @ face.normal) * face.normal
    u = u / (np.linalg.norm(u) or 1.0)
    return u, np.cross(face.normal, u)


def _outline(soup: Soup, face: Plane, origin: Floats, u: Floats, v: Floats) -> tuple[shapely.Polygon, float]:
    """The largest piece of a plane in the axes u, v, and the area of what lies beside it."""
    pieces = []
    for f in face.faces:
        rings = _rings(soup, f)
        flat = [np.round((r - origin) @ np.array([u, v]).T / GRAIN) * GRAIN for r in rings if len(r) >= 3]
        pieces += [shapely.Polygon(flat[0], flat[1:])] if flat else []
    union = shapely.union_all([shapely.make_valid(p) for p in pieces], grid_size=GRAIN)
    main = largest(union)
    return main, float(union.area - main.area)


def _rings(soup: Soup, f: int) -> list[Floats]:
    """Rings of a face, the longest way round first."""
    at = np.flatnonzero(soup.edge_face == f)
    follow = dict(zip(soup.a[at].tolist(), soup.b[at].tolist(), strict=True))
    rings = []
    while follow:
        start, current = next(iter(follow)), None
        ring = []
        while current != start and (current if current is not None else start) in follow:
            here = current if current is not None else start
            ring.append(here)
            current = follow.pop(here)
        rings.append(soup.points[ring])
    return sorted(rings, key=lambda r: -float(np.ptp(r, axis=0).sum()))


def _folded(soup: Soup, planes: list[Plane], whole: float, taper: float) -> list[Odd]:
    """Two plates of one thickness that meet at an angle: read from the larger one."""
    legs = []
    for i, face in enumerate(planes[:8]):
        partner = next((p for p in planes[i + 1 :] if p.normal @ face.normal < -0.9999), None)
        if partner is None or partner.area < 0.5 * face.area:
            continue
        odd = _plate(soup, face, partner, taper)
        if odd and odd.thickness < 0.25 * min(np.ptp(odd.outline[:, 0]), np.ptp(odd.outline[:, 1])):
            legs.append((face.area + partner.area, odd))
    alike = [leg for leg in legs if abs(leg[1].thickness - legs[0][1].thickness) < 1.0]
    if len(alike) < 2 or sum(a for a, _ in alike) < 0.8 * whole:
        return []
    odd = alike[0][1]
    return [Odd("folded", odd.origin, odd.u, odd.v, odd.n, odd.thickness, odd.thickness_max, odd.outline, odd.back)]


def _profiled(soup: Soup, face: Plane) -> list[Odd]:
    """A plank or tray with ribs, kerfs or returns: its silhouette square to the main face, least and greatest depth."""
    n = face.normal
    u, v = _axes(soup, face)
    origin = n * face.offset
    facing = [f for f in range(len(soup.area)) if abs(soup.normal[f] @ n) > 0.1 and soup.area[f] > 1e-3]
    shape, beside = _outline(soup, Plane(face.area, n, 0.0, facing), origin, u, v)
    if shape.is_empty or beside > 0.01 * shape.area or face.area < FACING * shape.area:
        return []
    x0, y0, x1, y1 = shape.bounds
    levels = soup.points[np.unique(soup.a)] @ n
    depth = float(np.ptp(levels))
    web = _web(soup, face)
    if min(x1 - x0, y1 - y0) < THIN * depth or not web > FLAT:
        return []
    return [Odd("profiled", origin + soup.base[0], u, v, n, web, depth, numbered(rings_of_polygon(shape)), np.empty((0, 3)))]


def _web(soup: Soup, face: Plane) -> float:
    """Distance from the main face to the largest face that looks the other way behind it."""
    behind: dict[float, float] = {}
    for f in np.flatnonzero((soup.area > 1e-3) & (np.abs(soup.normal @ face.normal) > 0.9999)).tolist():
        at = soup.a[soup.edge_face == f]
        level = round(float(face.offset - (soup.points[at] @ face.normal).mean()), 2) if len(at) else 0.0
        if level > FLAT:
            behind[level] = behind.get(level, 0.0) + float(soup.area[f])
    return max(behind, key=lambda k: (behind[k], -k), default=0.0)
