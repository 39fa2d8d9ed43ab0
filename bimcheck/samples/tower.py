"""A tower of any size, for benchmarks: written as text, 20,000 panels in about a second or two."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from bimcheck.core.errors import InputError
from bimcheck.samples.bodies import Box, boxes
from bimcheck.samples.building import Frame, axes_at, begin, element, finish
from bimcheck.samples.sets import own_set
from bimcheck.samples.tower_plan import MATERIALS, Face, Tower, tower

ABOUT = "Invented sample: a tower for measuring. No real building, product or project"
LEAST, MOST = 40, 1_000_000
BASE_STOREYS = 2  # of granite all round
RAIL_DEPTH, RAIL = 75.0, (40.0, 30.0)  # front of the rails behind the front of the panels; height and depth
BRACKET = (60.0, 120.0, 95.0)
SLAB_INSET, SLAB = 300.0, 250.0
RAIL_SHARE = 0.2  # of the panel's height, from below and from above
GRANITE = "Granite, flamed"


def write_tower(path: Path | str, panels: int = 20_000, unique_shapes: int = 1_500, body: str = "extrusion",
                schema: str = "IFC4", seed: int = 0, unit: str = "MILLIMETRE", parts: float = 1.0) -> Path:
    """Write a rectangular tower with slabs, and rails and brackets behind its panels.

    panels: exactly as many.  unique_shapes: about as many sizes (fewer where the grid of a small tower cannot hold them).
    body: extrusion, brep, tessellation (not IFC2X3) or mapped.  schema: IFC2X3, IFC4 or IFC4X3.
    unit: MILLIMETRE, CENTIMETRE, METRE, FOOT or INCH.  parts: rails and brackets a panel, up to 3; 0 for none.
    Raises InputError.  The same arguments give the same bytes.
    """
    if not LEAST <= panels <= MOST or unique_shapes < 1 or not 0 <= parts <= 3:
        raise InputError(f"no tower of {panels} panels, {unique_shapes} shapes, {parts} parts a panel", "samples",
                         f"ask for {LEAST} to {MOST} panels, at least one shape, 0 to 3 parts")
    design = tower(panels, unique_shapes, seed)
    levels = [(f"{k:02d} Level {k}" if k else "00 Ground floor", e) for k, (e, _) in enumerate(design.storeys)]
    space = f"tower/{panels}/{unique_shapes}/{seed}"
    frame = begin(space, f"Invented tower of {panels} panels", ABOUT, levels, schema, unit)
    box = boxes(frame, body)
    _panels(frame, design, box)
    if parts:
        _supports(frame, design, boxes(frame, "extrusion"), parts / 3 * panels / (panels + design.surplus))
    _slabs(frame, design, boxes(frame, "extrusion"))
    return finish(frame, Path(path), ABOUT)


def _panels(frame: Frame, design: Tower, box: Box) -> None:
    """Every cell but the surplus, which is left open on the lowest rows of the last face."""
    left_out = design.surplus
    for f, face in reversed(list(enumerate(design.faces))):
        n, u = frame.turned(face.n, face.u)
        for k, (_, rows) in enumerate(design.storeys):
            cls = design.classes[f][k]
            cells = [(r, c) for r in range(len(rows)) for c in range(len(face.widths))]
            skipped = min(left_out, len(cells)) if k == 0 else 0
            left_out -= skipped
            for r, c in cells[skipped:]:
                material = GRANITE if k < BASE_STOREYS else face.materials[c]
                mark = f"T-{face.name}-{k:02d}-{r * len(face.widths) + c + 1:03d}"
                y, height = rows[r]
                axes = axes_at(frame.step, (*face.at(face.starts[c], 0.0), y), n, u)
                shape = box(face.widths[c], height, MATERIALS[material])
                ref = element(frame, frame.storeys[k], cls, mark, f"Panel {mark}", "Facade panel", axes, shape, material)
                own_set(frame.step, mark, ref)


def _supports(frame: Frame, design: Tower, box: Box, share: float) -> None:
    """Two rails a row in lengths, `share` lengths a column, and a bracket at each length."""
    for face in design.faces:
        turned = frame.turned(face.n, face.u)
        places = [(k, r, row) for k, (_, rows) in enumerate(design.storeys) for r, row in enumerate(rows)]
        for i, (k, r, row) in enumerate(places):
            for first, last in _lengths(len(face.widths), share, i):
                _length(frame, box, face, turned, k, row, (first, last), f"{face.name}-{k:02d}-{r}-{first:03d}")


def _lengths(columns: int, share: float, i: int) -> Iterator[tuple[int, int]]:
    """First column and the one after the last of each length of row i; rows take turns so that the share is met overall."""
    count = min(columns, max(1, math.floor((i + 1) * columns * share) - math.floor(i * columns * share)))
    ends = [round(j * columns / count) for j in range(count + 1)]
    return pairwise(ends)


def _length(frame: Frame, box: Box, face: Face, turned: tuple[str, str], k: int, row: tuple[float, float],
            columns: tuple[int, int], key: str) -> None:
    """Rails behind columns [first, last) of a row and the bracket between them."""
    first, last = columns
    start, stop = face.starts[first], face.starts[last - 1] + face.widths[last - 1]
    start, stop = start + 120.0 * (first == 0), stop - 120.0 * (last == len(face.widths))
    y, height = row
    up = round(RAIL_SHARE * height)
    for side, axis in (("L", y + up), ("U", y + height - up)):
        axes = axes_at(frame.step, (*face.at(start, RAIL_DEPTH), axis - RAIL[0] / 2), *turned)
        element(frame, frame.storeys[k], "IfcMember", f"R-{key}{side}", "Horizontal rail", "Cladding rail", axes,
                box(stop - start, *RAIL), "Aluminium EN AW-6063")
    axes = axes_at(frame.step, (*face.at((start + stop - BRACKET[0]) / 2, RAIL_DEPTH + RAIL[1]), y + (height - BRACKET[1]) / 2), *turned)
    element(frame, frame.storeys[k], "IfcDiscreteAccessory", f"B-{key}", "Bracket", "Wall bracket", axes, box(*BRACKET),
            "Aluminium EN AW-6063")


def _slabs(frame: Frame, design: Tower, box: Box) -> None:
    """A slab below each floor level, and the roof."""
    w, d = (side - 2 * SLAB_INSET for side in design.plan)
    top, rows = design.storeys[-1]
    roof = top + rows[-1][0] + rows[-1][1]
    for k, level in enumerate([*(e for e, _ in design.storeys), roof]):
        storey = frame.storeys[min(k, len(frame.storeys) - 1)]
        axes = axes_at(frame.step, (SLAB_INSET, SLAB_INSET, level - storey.elevation), frame.z, frame.x)
        element(frame, storey, "IfcSlab", f"S-{k:02d}", "Floor slab", "Slab", axes, box(w, d, SLAB), "Concrete C30/37",
                ".ROOF." if k == len(design.storeys) else "")
