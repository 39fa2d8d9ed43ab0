"""Plain blocks: extruded rectangles, most of what stands behind a facade, read without the geometry kernel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.read.place import Placer, matrices

Floats = NDArray[np.float64]
# corners 0..3 around the foot, 4..7 above them; triangles turn outward where the extrusion goes along +z
_CORNERS = np.array([[-0.5, -0.5, 0], [0.5, -0.5, 0], [0.5, 0.5, 0], [-0.5, 0.5, 0], [-0.5, -0.5, 1], [0.5, -0.5, 1], [0.5, 0.5, 1], [-0.5, 0.5, 1]])
_FACES = np.array([[0, 2, 1], [0, 3, 2], [4, 5, 6], [4, 6, 7], [0, 1, 5], [0, 5, 4], [1, 2, 6], [1, 6, 5], [2, 3, 7], [2, 7, 6], [3, 0, 4], [3, 4, 7]])


def blocks(elements: Sequence[Any], placer: Placer) -> tuple[list[int], Floats]:
    """(rows of the elements that are plain blocks, (m, 12, 3, 3) triangles in the elements' own frames, mm)."""
    rows: list[int] = []
    measures: list[tuple[float, ...]] = []
    frames: list[tuple[Any, Any, Any]] = []
    along: list[tuple[float, ...]] = []
    for row, element in enumerate(elements):
        solid = _extruded(element)
        block = _measures(solid, placer) if solid is not None else None
        if block is not None and solid is not None:
            rows.append(row)
            measures.append(block)
            frames.append(placer.axes(solid[1]) if solid[1] is not None else ((0.0,) * 3, (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)))
            along.append(placer.directions.of(solid[2], (0.0, 0.0, 1.0)))
    if not rows:
        return rows, np.zeros((0, 12, 3, 3))
    return rows, _triangles(np.array(measures), np.array(frames), np.array(along), placer.factor)


def _extruded(element: Any) -> Any | None:
    """The one extruded solid that is the element's body; None where there is more to it."""
    shape = element[6]
    bodies = [r for r in shape[2] if r[1] == "Body"] if shape is not None else []
    if len(bodies) != 1 or len(bodies[0][3]) != 1:
        return None
    item = bodies[0][3][0]
    return item if item.is_a() == "IfcExtrudedAreaSolid" else None


def _measures(solid: Any, placer: Placer) -> tuple[float, ...] | None:
    profile = solid[0]
    if profile.is_a() != "IfcRectangleProfileDef":
        return None
    at, turn = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)
    if profile[2] is not None:
        at, _, turn = placer.axes(profile[2])
    return profile[3], profile[4], solid[3], at[0], at[1], turn[0], turn[1]


def _triangles(measures: Floats, frames: Floats, along: Floats, factor: float) -> Floats:
    local = _CORNERS[None] * np.column_stack([measures[:, :2], np.ones(len(measures))])[:, None]
    turn = measures[:, 5:7] / np.maximum(np.linalg.norm(measures[:, 5:7], axis=1, keepdims=True), 1e-12)
    flat = np.stack([local[..., 0] * turn[:, None, 0] - local[..., 1] * turn[:, None, 1] + measures[:, None, 3],
                     local[..., 0] * turn[:, None, 1] + local[..., 1] * turn[:, None, 0] + measures[:, None, 4]], axis=-1)
    unit = along / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-12)
    corners = np.concatenate([flat, np.zeros((*flat.shape[:2], 1))], axis=-1) + local[..., 2:] * (unit * measures[:, 2:3])[:, None]
    placed = matrices(frames[:, 0], frames[:, 1], frames[:, 2])
    return ((np.einsum("nij,nkj->nki", placed[:, :3, :3], corners) + placed[:, None, :3, 3]) * factor)[:, _FACES]
