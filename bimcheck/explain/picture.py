"""The plate as a picture: outline, anchors with their forces, and the moment field of the governing combination.

Seen from the rear, as it is drilled.  The field is drawn from a fresh solution of the same plate on rigid supports; what
counts in the checks are the figures of the store, which the labels show.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import shapely

from bimcheck.core.errors import InputError
from bimcheck.explain import combos
from bimcheck.explain.context import Context
from bimcheck.explain.quantity import FORCE, Quantity, quantity
from bimcheck.plate.fineness import cells_for
from bimcheck.plate.points import solve, values_at
from bimcheck.plate.shape import build
from bimcheck.write.elevation_parts import (
    RAMP,
    classes,
    dimension,
    ink,
    label,
    line,
    num,
    rings_path,
    tag,
    upright_dimension,
)

LONG, MARGIN, TOP, LEGEND = 620.0, 70.0, 84.0, 330.0  # px
COLUMNS = (0.0, 30.0, 82.0, 152.0, 222.0)  # of the table of anchors, px
TALL = 470.0  # px, what legend and table need
CELLS = 72  # of the picture along the longest side

Array = np.ndarray


@dataclass(frozen=True)
class Frame:
    """From mm in the panel's frame, seen from outside, to px seen from the rear."""

    width: float
    height: float

    @property
    def scale(self) -> float:
        return LONG / max(self.width, self.height)

    def px(self, points: Array) -> Array:
        x, y = np.asarray(points, dtype=float).T
        return np.column_stack([MARGIN + (self.width - x) * self.scale, TOP + (self.height - y) * self.scale])

    @property
    def size(self) -> tuple[float, float]:
        return MARGIN + self.width * self.scale + LEGEND, TOP + max(self.height * self.scale + MARGIN, TALL)


@dataclass(frozen=True)
class Field:
    """Moments of the governing combination: m (k,) at points (k, 2) a step apart; radius (n,) of the discs about the
    anchors, at_anchor (n,) moments at the design radius [N mm/mm]."""

    points: Array
    step: float
    m: Array
    radius: Array
    at_anchor: Array


def rings_of(context: Context) -> list[Array]:
    """Outline and cut-outs of the panel, (k, 2) each."""
    rows = context.result.tables["panels"]["outline"][context.rows["panels"]]
    return [rows[rows[:, 2] == k, :2] for k in np.unique(rows[:, 2])]


def anchors_of(context: Context) -> Array:
    table = context.result.tables["anchors"]
    return np.column_stack([table["x"], table["y"]])[context.anchors] if len(context.anchors) else np.empty((0, 2))


def field_of(context: Context) -> Field | None:
    """None where the plate cannot be solved or nothing presses on it."""
    rings, anchors = rings_of(context), anchors_of(context)
    if not len(anchors):
        return None
    f = combos.in_plate(context)
    q = abs(f["gamma_W"].value * f["w"].value / 1e3 + f["gamma_G"].value * context.number("w_G", "candidates"))
    try:
        plate = build(rings, context.number("nu"), int(cells_for(rings, [anchors])[0]))
        solved = solve(plate, anchors)
    except InputError:
        return None
    if not np.isfinite(q) or solved.mechanism[0] or solved.outside[0]:
        return None
    points, step = _grid(rings)
    _, moments = values_at(plate, anchors, points)
    mx, my, mxy = moments.T
    m = np.abs(mx + my) / 2 + np.hypot((mx - my) / 2, mxy)
    return Field(points, step, q * m, solved.radius, q * solved.anchor_moment(context.number("undercut_radius")))


def _grid(rings: Sequence[Array]) -> tuple[Array, float]:
    """Centres of square cells whose centre lies on the panel."""
    size = np.ptp(rings[0], axis=0)
    step = float(size.max()) / CELLS
    x, y = (np.arange(step / 2, s, step) + low for s, low in zip(size, rings[0].min(axis=0), strict=True))
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    return points[shapely.contains_xy(shapely.Polygon(rings[0], rings[1:]), points[:, 0], points[:, 1])], step


def svg(context: Context) -> str:
    """The picture as text."""
    frame = Frame(context.number("width"), context.number("height"))
    field = field_of(context)
    wide, high = frame.size
    parts = [*_title(context, field), *_field(context, frame, field), *_outline(context, frame), *_anchors(context, frame, field),
             *_dimensions(context, frame), *_legend(context, frame, field)]
    head = (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {num(wide)} {num(high)}" width="{num(wide)}" height="{num(high)}" '
            'font-family="sans-serif">')
    return "\n".join([head, tag("rect", width=wide, height=high, fill="#ffffff"), *parts, "</svg>", ""])


def _title(context: Context, field: Field | None) -> Iterator[str]:
    get = lambda name: str(context.value("panels", name) or "")  # noqa: E731
    yield label(MARGIN, 20, f"{get('mark') or get('name')}: {get('material')}, {context.shown('panels', 'thickness')}, {get('pattern_selected') or 'no'} anchors, seen from the REAR", 13, "start")
    u = context.number("utilisation")
    yield label(MARGIN, 38, f"{get('result')}: {get('reason') or get('governing_check')}{'' if np.isnan(u) else f', utilisation {u:.3g}'}", 11, "start")
    if field is not None:
        yield label(MARGIN, 54, f"moments under {context.value('candidates', 'm_combination')}; greatest {context.shown('candidates', 'm_Ed')} at {context.value('candidates', 'm_place')}", 11, "start")


def _field(context: Context, frame: Frame, field: Field | None) -> Iterator[str]:
    if field is None:
        return
    near = np.linalg.norm(field.points[:, None] - anchors_of(context), axis=-1) < np.nan_to_num(field.radius)
    drawn = ~near.any(axis=1)
    steps = classes(field.m[drawn])
    side = field.step * frame.scale
    for (x, y), m in zip(frame.px(field.points[drawn]), field.m[drawn], strict=True):
        yield tag("rect", x=float(x - side / 2), y=float(y - side / 2), width=side + 0.3, height=side + 0.3, fill=steps.fill(float(m)))


def _outline(context: Context, frame: Frame) -> Iterator[str]:
    yield tag("path", d=rings_path(frame.px(r) for r in rings_of(context)), fill="none", stroke="#000000", stroke_width=1.6)


def _anchors(context: Context, frame: Frame, field: Field | None) -> Iterator[str]:
    """Discs, names, and an arrow down where an anchor carries weight."""
    for k, (row, (x, y)) in enumerate(zip(context.anchors, frame.px(anchors_of(context)), strict=True)):
        at = context.at(int(row))
        disc = 4.0 if field is None else max(4.0, float(np.nan_to_num(field.radius[k])) * frame.scale)
        yield tag("circle", cx=float(x), cy=float(y), r=disc, fill="#ffffff", fill_opacity=0.85, stroke="#000000", stroke_width=0.5)
        yield tag("circle", cx=float(x), cy=float(y), r=2.5, fill="#000000")
        yield label(float(x), float(y) - 6, f"A{at.value('anchors', 'slot')}", 11)
        if at.number("V_Ed", "anchors") > 0:
            yield line(float(x), float(y), float(x), float(y) + 22, width=1.4)
            yield tag("path", d=f"M{num(x - 4)} {num(y + 16)} L{num(x)} {num(y + 24)} L{num(x + 4)} {num(y + 16)} Z", fill="#000000")


def _table(context: Context, field: Field | None, x: float, top: float) -> Iterator[str]:
    """Anchor, role, design forces and moment."""
    for column, text in zip(COLUMNS, ("", "role", "N_Ed", "V_Ed", "m"), strict=True):
        yield label(x + column, top, text, 10, "start")
    for k, row in enumerate(context.anchors):
        at = context.at(int(row))
        m = "" if field is None or not np.isfinite(field.at_anchor[k]) else Quantity(float(field.at_anchor[k]) * 1e3, FORCE, True).shown(at.units)
        cells = (f"A{at.value('anchors', 'slot')}", str(at.value("anchors", "role")), *(at.shown("anchors", c) for c in ("N_Ed", "V_Ed")), m)
        for column, text in zip(COLUMNS, cells, strict=True):
            yield label(x + column, top + 14 * (k + 1), text, 10, "start")


def _dimensions(context: Context, frame: Frame) -> Iterator[str]:
    """Width and height, and the places of columns and rows from the lower-left corner seen from the rear."""
    show = lambda v: quantity(v, "mm").shown(context.units)  # noqa: E731
    left, right = MARGIN, MARGIN + frame.width * frame.scale
    top, low = TOP, TOP + frame.height * frame.scale
    yield from dimension(left, right, low + 46, show(frame.width))
    yield from upright_dimension(top, low, left - 46, show(frame.height))
    points = anchors_of(context)
    if len(points):
        xs = [0.0, *np.unique(np.round(frame.width - points[:, 0], 1)).tolist(), frame.width]
        ys = [0.0, *np.unique(np.round(points[:, 1], 1)).tolist(), frame.height]
        if len(xs) < 12 and len(ys) < 12:
            for a, b in pairwise(xs):
                yield from dimension(left + a * frame.scale, left + b * frame.scale, low + 24, f"{float(quantity(b - a, 'mm').shown(context.units).split()[0]):g}")
            for a, b in pairwise(ys):
                yield from upright_dimension(low - b * frame.scale, low - a * frame.scale, left - 24, f"{float(quantity(b - a, 'mm').shown(context.units).split()[0]):g}")


def _legend(context: Context, frame: Frame, field: Field | None) -> Iterator[str]:
    x = MARGIN + frame.width * frame.scale + 24
    if field is None:
        yield label(x, TOP + 14, "no moments to show", 10, "start")
        yield from _table(context, field, x, TOP + 40) if len(context.anchors) else ()
        return
    near = np.linalg.norm(field.points[:, None] - anchors_of(context), axis=-1) < np.nan_to_num(field.radius)
    steps = classes(field.m[~near.any(axis=1)])
    unit = "N mm/mm" if context.units == "si" else "lbf in/in"
    yield label(x, TOP + 10, "largest principal", 10, "start")
    yield label(x, TOP + 23, f"moment, {unit}", 10, "start")
    scale = 1.0 if context.units == "si" else 1 / 4.4482216
    for i, (a, b) in enumerate(pairwise(steps.edges)):
        fill = RAMP[round(i * (len(RAMP) - 1) / max(len(steps.edges) - 2, 1))]
        yield tag("rect", x=x, y=TOP + 32 + 20 * i, width=76.0, height=18.0, fill=fill)
        yield label(x + 38, TOP + 45 + 20 * i, f"{a * scale:.3g} - {b * scale:.3g}", 10, fill=ink(fill))
    below = TOP + 50 + 20 * (len(steps.edges) - 1)
    for i, text in enumerate(("white discs: where the field", "is averaged about an anchor;", "m there at the design radius,", "without the clip's own moment", "and misfit; rigid supports")):
        yield label(x, below + 13 * i, text, 9, "start")
    yield from _table(context, field, x, below + 90)


def write(context: Context, folder: Path) -> Path:
    """The picture in the folder `explain` of the run, named after the panel."""
    name = str(context.value("panels", "mark") or context.value("panels", "guid"))
    path = folder / "explain" / (re.sub(r"[^A-Za-z0-9._-]", "-", name) + ".svg")
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".svg.part")
    part.write_text(svg(context), encoding="utf-8", newline="\n")
    part.replace(path)
    return path
