"""Elevations with the issues marked: one picture a facade, seen from outside, for the issue workbook.

An issue carries the number of its group; its severity is told by shape and colour: diamond, triangle, disc.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.core.tables import Ragged, Table, Tables
from bimcheck.core.units import factor
from bimcheck.write.figures import scale as unit_scale
from bimcheck.write.figures import unit_shown
from bimcheck.write.issue_canvas import Canvas
from bimcheck.write.issue_marks import Mark, drawable, marks
from bimcheck.write.storeys import storeys

MOST = 8  # pictures in a workbook
LISTED = 14  # groups named below a picture
LONGEST, HIGHEST = 1500.0, 1050.0  # px of a drawn facade; a picture is shown at half its size
LEFT, RIGHT, TOP, BOTTOM = 300.0, 60.0, 150.0, 330.0  # px around it; the bottom holds the list of groups
NARROW, BESIDE = 650.0, 640.0  # px: beside a facade as narrow as this the list takes that much
REACH = 15_000.0  # mm beyond its ends that a grid axis still counts
TINT = {0: "#F9DDCB", 1: "#FDEBC8", 2: "#D6E8F4", 3: "#F3F5F7"}
KINDS = ("error", "warning", "info")


@dataclass(frozen=True)
class Picture:
    """A PNG, its size in px, and what it shows in a sentence."""

    facade: str
    says: str
    png: bytes
    width: int
    height: int


@dataclass(frozen=True)
class Frame:
    """Where the facade lies on the picture: px per mm, its length and height in mm."""

    scale: float
    length: float
    height: float

    def x(self, s: Any) -> Any:
        return LEFT + np.asarray(s) * self.scale

    def y(self, z: Any) -> Any:
        return TOP + (self.height - np.asarray(z)) * self.scale


def pictures(tables: Tables, rows: Table, units: str = "si", most: int = MOST) -> tuple[list[Picture], list[str]]:
    """Pictures of the facades with standing issues, the most errors first, and the names of those left out.

    rows: issues with `no`, the number of their group.  tables: panels, facades, and axes where the model has some.
    """
    panels, facades = tables["panels"], tables.get("facades")
    needed = ("s_left", "z_bottom", "z_top", "facade_index", "element")
    if facades is None or not panels.n or any(k not in panels for k in needed):
        return [], []
    found = marks(panels, rows)
    by_facade: dict[int, list[Mark]] = {}
    for mark in found:
        by_facade.setdefault(mark.facade, []).append(mark)
    order = sorted(by_facade, key=lambda k: (*(-sum(m.severity == s for m in by_facade[k]) for s in range(3)), k))
    drawn = [_picture(tables, k, by_facade[k], rows, units) for k in order[:most]]
    return drawn, [str(facades["facade_name"][k]) for k in order[most:]]


def _picture(tables: Tables, facade: int, found: list[Mark], rows: Table, units: str) -> Picture:
    panels, facades = tables["panels"], tables["facades"]
    here = panels.take((panels["facade_index"] == facade) & drawable(panels))
    length = max(float(facades["facade_length"][facade]), float((here["s_left"] + here["width"]).max()))
    height = float(here["z_top"].max())
    frame = Frame(min(LONGEST / length, HIGHEST / height), length, height)
    groups = sorted({m.number for m in found})
    narrow = length * frame.scale < NARROW
    canvas = Canvas(int(LEFT + length * frame.scale + RIGHT + (BESIDE if narrow else 0.0)), int(TOP + height * frame.scale + (110.0 if narrow else BOTTOM)))
    name = str(facades["facade_name"][facade])
    says = f"Facade {name}, seen from outside: {_counted(found)}"
    canvas.text(40, 26, says, 30)
    _axes(canvas, tables, here, frame)
    _panels(canvas, here, frame, found)
    _storeys(canvas, here, frame, units)
    canvas.line(float(frame.x(0)) - 30, float(frame.y(0)), float(frame.x(length)) + 30, float(frame.y(0)), width=4)
    canvas.marks([(float(frame.x(m.s)), float(frame.y(m.z)), m.severity, m.number) for m in found])
    canvas.text(LEFT, float(frame.y(0)) + 22, f"{_length(length, units)} long, {_length(height, units)} high; levels in {unit_shown('m', units)}", 19)
    corner = (float(frame.x(length)) + RIGHT, TOP) if narrow else (40.0, float(frame.y(0)) + 60)
    _legend(canvas, corner, 1 if narrow else 2, groups, found, rows)
    return Picture(name, says, canvas.png(), canvas.width, canvas.height)


def _counted(found: Sequence[Mark]) -> str:
    counts = [(sum(m.severity == k for m in found), word) for k, word in enumerate(KINDS)]
    return ", ".join(f"{n} {word}{'s' if n > 1 else ''}" for n, word in counts if n)


def _length(mm: float, units: str) -> str:
    return f"{mm * factor('mm', 'm') * unit_scale('m', units):.2f} {unit_shown('m', units)}"


def _panels(canvas: Canvas, panels: Table, frame: Frame, found: Sequence[Mark]) -> None:
    """Outlines; a panel with a standing issue is tinted by the gravest."""
    worst: dict[int, int] = {}
    for mark in found:
        for element in (mark.element, mark.other):
            worst[element] = min(worst.get(element, 3), mark.severity)
    tint = [TINT[worst.get(e, 3)] for e in panels["element"].tolist()]
    points, row, ring = _rings(panels)
    drawn = np.column_stack([frame.x(points[:, 0]), frame.y(points[:, 1])])
    starts = np.flatnonzero(np.r_[True, (np.diff(row) != 0) | (np.diff(ring) != 0)])
    for a, b in zip(starts.tolist(), [*starts[1:].tolist(), len(drawn)], strict=True):
        canvas.polygon(drawn[a:b], "#FFFFFF" if ring[a] else tint[row[a]])


def _rings(panels: Table) -> tuple[Any, Any, Any]:
    """Corners of all outlines and cut-outs on the facade (mm from its left end, above ground), with row and ring of each."""
    rise = panels["z_top"] - panels["z_bottom"]
    outline = panels.get("outline")
    if isinstance(outline, Ragged) and len(outline.values):
        row, ring = outline.rows, outline.values[:, 2]
        flat = rise / np.where(panels["height"] > 0, panels["height"], 1.0)
        along, up = outline.values[:, 0], outline.values[:, 1] * flat[row]
    else:
        row, ring = np.repeat(np.arange(panels.n), 4), np.zeros(4 * panels.n)
        along, up = np.outer(panels["width"], [0, 1, 1, 0]).ravel(), np.outer(rise, [0, 0, 1, 1]).ravel()
    return np.column_stack([panels["s_left"][row] + along, panels["z_bottom"][row] + up]), row, ring


def _storeys(canvas: Canvas, panels: Table, frame: Frame, units: str) -> None:
    """Lines where storeys begin; names that would run into one another give way to the lower one."""
    free = np.inf
    for name, z in storeys(panels):
        y = float(frame.y(z))
        canvas.line(LEFT - 30, y, float(frame.x(frame.length)) + 30, y, dash=(3, 7), fill="#5B6B78")
        if y < free - 24:
            canvas.text(LEFT - 40, y - 12, f"{z * factor('mm', 'm') * unit_scale('m', units):+.2f}", 19, "right")
            canvas.text(20, y - 12, name, 19, limit=LEFT - 140)
            free = y


def _axes(canvas: Canvas, tables: Tables, panels: Table, frame: Frame) -> None:
    """Grid axes that cross the facade: a bubble above, a line of dashes and dots down."""
    axes = tables.get("axes")
    if axes is None or not axes.n:
        return
    last = -np.inf
    for s, tag in sorted(_crossings(axes, panels, frame.length)):
        x = float(frame.x(s))
        canvas.line(x, TOP - 24, x, float(frame.y(0)) + 10, dash=(22, 6, 3, 6), fill="#7A8894")
        if x > last + 46:
            canvas.bubble(x, TOP - 46, tag)
            last = x


def _crossings(axes: Table, panels: Table, length: float) -> list[tuple[float, str]]:
    """(mm from the facade's left end, tag) of the axes that cross it at more than 30 degrees."""
    origin, u, n = (panels[k][0][:2] for k in ("origin", "u", "n"))
    start = np.column_stack([axes["x0"], axes["y0"]])
    run = np.column_stack([axes["x1"], axes["y1"]]) - start
    far = np.linalg.norm(run, axis=1)
    along = run / far[:, None]
    meets = along @ n
    t = ((origin - start) @ n) / np.where(np.abs(meets) > 0.5, meets, np.inf)
    s = float(panels["s_left"][0]) + (start + t[:, None] * along - origin) @ u
    kept = (np.abs(meets) > 0.5) & (t > -REACH) & (t < far + REACH) & (s > -1000) & (s < length + 1000)
    return [(float(s[k]), str(axes["tag"][k])) for k in np.flatnonzero(kept)]


def _legend(canvas: Canvas, corner: tuple[float, float], columns: int, groups: Sequence[int], found: Sequence[Mark], rows: Table) -> None:
    """Shapes, and the groups by number, in columns from a corner on."""
    left, top = corner
    for k, word in enumerate(KINDS):
        canvas.mark(left + 14 + 150 * k, top + 11, k, "")
        canvas.text(left + 40 + 150 * k, top, word, 19)
    first = dict(zip(rows["no"].tolist()[::-1], rows["group"].tolist()[::-1], strict=True))
    wide = (canvas.width - left - 20) / columns
    for k, number in enumerate(groups[:LISTED]):
        x, y = left + wide * (k % columns), top + 40 + 28 * (k // columns)
        canvas.text(x, y, f"{number}  {first[number]} ({sum(m.number == number for m in found)})", 19, limit=wide - 20)
    if len(groups) > LISTED:
        canvas.text(left, top + 40 + 28 * -(-LISTED // columns), f"and {len(groups) - LISTED} more groups", 19)
    canvas.text(40, canvas.height - 36, "numbers: see sheet Groups; 'x 4': four issues of the group; '+': more groups in the same place", 17, fill="#555555")
