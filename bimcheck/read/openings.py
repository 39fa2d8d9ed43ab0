"""Openings cut into plates: a straight hole through the plate is a cut-out; anything else is asked from the kernel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bimcheck.read import kernel
from bimcheck.read.attributes import Listed, listed
from bimcheck.read.bodies import Prism
from bimcheck.read.collect import collect
from bimcheck.read.found import PLATE, Found
from bimcheck.read.place import Placer
from bimcheck.read.plates import read_plates, replace
from bimcheck.read.polygons import numbered, polygon, rings_of_polygon, split

Floats = NDArray[Any]  # of float64
SQUARE = 1e-6  # 1 - cos of the angle between hole and plate normal
THROUGH = 0.05  # mm


def cut_openings(placer: Placer, elements: Listed, voids: Mapping[int, list[int]], found: Found, matrices: Floats, taper: float) -> None:
    """Cut the openings of `elements` out of `found` (rows in the elements' own frames; matrices (n, 4, 4) world)."""
    source, numbers = elements.source, elements.numbers.tolist()
    rows = [i for i, n in enumerate(numbers) if n in voids and found.state[i] == PLATE] if voids else []
    if not rows:
        return
    openings = [(i, o) for i in rows for o in voids[numbers[i]]]
    cut = listed(source, source.step.rows([o for _, o in openings]))
    bodies = collect(source, placer, cut.numbers, cut.shape)
    world = placer.many(source, cut.placement)
    hard: set[int] = set()
    holes: dict[int, list[shapely.Polygon]] = {i: [] for i in rows}
    for k, (i, _) in enumerate(openings):
        body = bodies.single(int(bodies.index[k])) if bodies.index[k] >= 0 else None
        hole = _hole(body, np.linalg.inv(matrices[i]) @ world[k], found, i) if isinstance(body, Prism) else None
        if hole is None and bodies.index[k] >= 0:
            hard.add(i)
        elif hole is not None:
            holes[i].append(hole)
    for i in rows:
        if i not in hard and holes[i]:
            _cut(found, i, holes[i])
    _by_kernel(source.file, placer, {i: numbers[i] for i in sorted(hard)}, found, taper)


def _hole(prism: Prism, matrix: Floats, found: Found, i: int) -> shapely.Polygon | None:
    """The hole in the axes of plate i; empty where it does not go through; None where it is not straight."""
    turn = matrix[:3, :3] @ prism.matrix[:3, :3]
    shift = matrix[:3, :3] @ prism.matrix[:3, 3] + matrix[:3, 3] - found.origin[i]
    along = turn @ prism.vector
    n = found.n[i]
    depth = float(along @ n)
    if found.form[i] != "flat" or abs(depth) < (1 - SQUARE) * np.linalg.norm(along) or abs(turn[:, 2] @ n) < 1 - SQUARE:
        return None
    start = float((turn @ np.array([*prism.rings[0][0], 0.0]) + shift) @ n)
    low, high = sorted((start, start + depth))
    if low > -found.thickness[i] + THROUGH or high < -THROUGH:
        return shapely.Polygon()
    axes = np.array([found.u[i], found.v[i]])
    flat = [np.column_stack([r, np.zeros(len(r))]) @ turn.T @ axes.T + axes @ shift for r in prism.rings]
    return polygon(flat)


def _cut(found: Found, i: int, holes: Sequence[shapely.Polygon]) -> None:
    """Cut through; what is left is the largest piece."""
    cut = shapely.union_all(list(holes))
    for outlines in (found.outline, found.back):
        if len(outlines[i]):
            left = polygon(split(outlines[i])).difference(cut)
            parts = [p for p in shapely.get_parts(left) if isinstance(p, shapely.Polygon)]
            if parts:
                outlines[i] = numbered(rings_of_polygon(max(parts, key=lambda p: p.area)))


def _by_kernel(file: Any, placer: Placer, numbers: Mapping[int, int], found: Found, taper: float) -> None:
    """numbers: element of each row."""
    if not numbers:
        return
    meshed = kernel.shells(file, placer.factor, [file.by_id(n) for n in numbers.values()], openings=True)
    done = [i for i, n in numbers.items() if n in meshed]
    other = read_plates([meshed[numbers[i]] for i in done], taper)
    for at, i in enumerate(done):
        if other.state[at] == PLATE:
            replace(found, i, other, at)
