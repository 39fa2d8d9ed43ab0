"""Straight grid axes, in the ways that files write lines."""

from __future__ import annotations

from typing import Any

import numpy as np


def ends_of(curve: Any) -> list[Any]:
    """Coordinates of both ends of a straight axis (IfcGridAxis.AxisCurve), in the file's units; nothing for curves."""
    if curve is None:
        return []
    kind = curve.is_a()
    if kind == "IfcPolyline":
        return [curve.Points[0].Coordinates, curve.Points[-1].Coordinates]
    if kind == "IfcIndexedPolyCurve" and all(s.is_a("IfcLineIndex") for s in curve.Segments or ()):
        return [curve.Points.CoordList[0], curve.Points.CoordList[-1]]
    if kind == "IfcTrimmedCurve" and curve.BasisCurve.is_a("IfcLine"):
        return [_cut(curve.BasisCurve, trims) for trims in (curve.Trim1, curve.Trim2)]
    return []


def _cut(line: Any, trims: Any) -> tuple[float, ...]:
    """Where a line is cut: at a point, else at a multiple of its vector."""
    for trim in trims:
        if trim.is_a("IfcCartesianPoint"):
            return tuple(trim.Coordinates)
    along = np.array(line.Dir.Orientation.DirectionRatios, dtype=float)
    reach = float(trims[0].wrappedValue) * line.Dir.Magnitude * along / np.linalg.norm(along)
    return tuple((np.array(line.Pnt.Coordinates) + reach).tolist())
