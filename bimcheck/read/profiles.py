"""Profiles and curves as closed rings of points: first the outline, then its voids; arcs as chords."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.place import Placer

Floats = NDArray[Any]  # of float64
SAG = 0.02  # mm between arc and chord; edge distances are read from these rings
MOST = 360  # chords of a full circle


class Unread(Exception):
    """This geometry is left to the geometry kernel."""


def rings_of(profile: Any, placer: Placer) -> tuple[list[Floats], bool]:
    """Rings (k, 2) in mm, not closed by repetition, and whether any edge is an arc.  Raises Unread."""
    kind = profile.is_a()
    if kind == "IfcRectangleProfileDef":
        return [_placed(_rectangle(profile[3], profile[4]), profile[2], placer)], False
    if kind == "IfcArbitraryClosedProfileDef":
        ring, arcs = ring_of(profile[2], placer)
        return [ring], arcs
    if kind == "IfcArbitraryProfileDefWithVoids":
        read = [ring_of(c, placer) for c in (profile[2], *profile[3])]
        return [r for r, _ in read], read[0][1]
    if kind == "IfcCircleProfileDef":
        return [_placed(_circle(profile[3] * placer.factor) / placer.factor, profile[2], placer)], True
    if kind in _POINTS:
        return [_placed(np.array(_POINTS[kind](profile), dtype=float), profile[2], placer)], False
    raise Unread(kind)


def _rectangle(x: float, y: float) -> Floats:
    return np.array([[-x, -y], [x, -y], [x, y], [-x, y]]) / 2


def _ell(p: Any) -> list[tuple[float, float]]:
    depth, width, t = p[3], p[4] or p[3], p[5]
    x, y = -width / 2, -depth / 2
    return [(x, y), (x + width, y), (x + width, y + t), (x + t, y + t), (x + t, y + depth), (x, y + depth)]


def _channel(p: Any) -> list[tuple[float, float]]:
    d, w, web, flange = p[3] / 2, p[4], p[5], p[6]
    x = -w / 2
    return [(x, -d), (x + w, -d), (x + w, -d + flange), (x + web, -d + flange), (x + web, d - flange), (x + w, d - flange),
            (x + w, d), (x, d)]


def _eye(p: Any) -> list[tuple[float, float]]:
    w, d, web, flange = p[3] / 2, p[4] / 2, p[5] / 2, p[6]
    right = [(w, -d), (w, -d + flange), (web, -d + flange), (web, d - flange), (w, d - flange), (w, d)]
    return right + [(-x, y) for x, y in reversed(right)]


# Fillets and slopes of rolled sections are left out: these bodies are only looked at for clearances.
_POINTS = {"IfcLShapeProfileDef": _ell, "IfcUShapeProfileDef": _channel, "IfcIShapeProfileDef": _eye}


def _circle(radius: float) -> Floats:
    angle = np.linspace(0.0, 2 * math.pi, chords(radius, 2 * math.pi), endpoint=False)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def chords(radius: float, sweep: float) -> int:
    """Chords along an arc: sagitta up to SAG, at least one every 15 degrees."""
    step = 2 * math.acos(max(1 - SAG / radius, 0.0)) if radius > SAG else math.pi / 12
    return max(1, min(math.ceil(abs(sweep) / min(step, math.pi / 12)), math.ceil(MOST * abs(sweep) / (2 * math.pi))))


def _placed(points: Floats, position: Any, placer: Placer) -> Floats:
    points = points * placer.factor
    if position is None:
        return points
    location, _, x = placer.axes(position)
    length = math.hypot(x[0], x[1]) or 1.0
    c, s = x[0] / length, x[1] / length
    return points @ np.array([[c, s], [-s, c]]) + np.array(location[:2]) * placer.factor


def ring_of(curve: Any, placer: Placer) -> tuple[Floats, bool]:
    """(k, 2) points of a closed curve in mm without a repeated last point, and whether it has arcs."""
    points, arcs = _curve(curve, placer)
    ring = np.array([p[:2] for p in points], dtype=float)
    if len(ring) > 1 and np.allclose(ring[0], ring[-1], rtol=0.0, atol=1e-6):
        ring = ring[:-1]
    return ring, arcs


def _curve(curve: Any, placer: Placer) -> tuple[Floats, bool]:
    kind = curve.is_a()
    if kind == "IfcPolyline":
        return np.array([p[0][:2] for p in curve[0]], dtype=float) * placer.factor, False
    if kind == "IfcIndexedPolyCurve":
        return _indexed(curve, placer)
    if kind == "IfcCompositeCurve":
        return _composite(curve, placer)
    if kind == "IfcTrimmedCurve":
        return _trimmed(curve, placer), True
    if kind == "IfcCircle":
        return _placed(_circle(curve[1] * placer.factor) / placer.factor, curve[0], placer), True
    raise Unread(kind)


def _indexed(curve: Any, placer: Placer) -> tuple[Floats, bool]:
    points = np.array([p[:2] for p in curve[0][0]], dtype=float) * placer.factor
    if curve[1] is None:
        return points, False
    out: list[Floats] = []
    arcs = False
    for segment in curve[1]:
        index = np.array(segment[0]) - 1
        arc = segment.is_a() == "IfcArcIndex"
        arcs |= arc
        out.append(arc_through(*points[index]) if arc else points[index])
    return _chained(out), arcs


def _chained(pieces: list[Floats]) -> Floats:
    return np.concatenate([pieces[0], *(p[1:] for p in pieces[1:])])


def arc_through(a: Floats, b: Floats, c: Floats) -> Floats:
    """Points of the arc from a over b to c, ends among them; a straight line where they are in line."""
    (ux, uy), (vx, vy) = b - a, c - a
    cross = 2 * (ux * vy - uy * vx)
    if abs(cross) < 1e-9 * max(float(np.hypot(vx, vy)) ** 2, 1e-9):
        return np.array([a, c])
    u2, v2 = ux * ux + uy * uy, vx * vx + vy * vy
    centre = a + np.array([vy * u2 - uy * v2, ux * v2 - vx * u2]) / cross
    start, end = (math.atan2(*(p - centre)[::-1]) for p in (a, c))
    sweep = (end - start) % (2 * math.pi) if cross > 0 else -((start - end) % (2 * math.pi))
    out = _arc(centre, float(np.hypot(*(a - centre))), start, sweep)
    out[0], out[-1] = a, c
    return out


def _arc(centre: Floats, radius: float, start: float, sweep: float) -> Floats:
    angle = start + np.linspace(0.0, sweep, chords(radius, sweep) + 1)
    return centre + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def _composite(curve: Any, placer: Placer) -> tuple[Floats, bool]:
    pieces, arcs = [], False
    for segment in curve[0]:
        if not segment.is_a("IfcCompositeCurveSegment"):
            raise Unread(segment.is_a())
        points, arc = _curve(segment[2], placer)
        arcs |= arc
        pieces.append(np.asarray(points) if segment[1] else np.asarray(points)[::-1])
    return _chained(pieces), arcs


def _trimmed(curve: Any, placer: Placer) -> Floats:
    """A trimmed circle or line; parameters are left to the kernel unless points are given."""
    basis = curve[0]
    ends = [next((t for t in trim if getattr(t, "is_a", str)() == "IfcCartesianPoint"), None) for trim in (curve[1], curve[2])]
    if None in ends:
        raise Unread("IfcTrimmedCurve")
    a, c = (np.array(e[0][:2], dtype=float) * placer.factor for e in ends)  # type: ignore[index]
    if basis.is_a() == "IfcLine":
        return np.array([a, c])
    if basis.is_a() != "IfcCircle":
        raise Unread(basis.is_a())
    centre = np.array(placer.axes(basis[0])[0][:2]) * placer.factor
    start, end = (math.atan2(*(p - centre)[::-1]) for p in (a, c))
    sweep = (end - start) % (2 * math.pi) if curve[3] else -((start - end) % (2 * math.pi))
    return _arc(centre, float(np.hypot(*(a - centre))), start, sweep)
