"""Drilling drawings: one SVG a mark, seen from the REAR, with the holes' ordinates from the lower-left corner of that view."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, Tables
from bimcheck.write import elevation_parts as part
from bimcheck.write.fabrication_rows import holes, marks
from bimcheck.write.figures import scale, unit_shown
from bimcheck.write.issue_rows import write_text

WIDE, DEEP = 1000.0, 640.0  # px
X0, Y0, W, H = 110.0, 92.0, 560.0, 400.0  # room for the rear view
SIDE = 730.0  # px, where front view and list begin
NOTE = "Preliminary design aid, no release for fabrication; the engineer of record and the local codes decide. Not to scale: figures count."


@dataclass(frozen=True)
class View:
    """From mm in a view, lower-left corner at 0, 0, to px."""

    x0: float
    y0: float
    per_mm: float
    height: float

    def at(self, points: NDArray[Any]) -> NDArray[np.float64]:
        return np.column_stack([self.x0 + points[:, 0] * self.per_mm, self.y0 + (self.height - points[:, 1]) * self.per_mm])


def rear(points: NDArray[Any], width: float) -> NDArray[np.float64]:
    """Points (k, 2) of the front view as seen from the rear, and back again: x -> width - x."""
    return np.column_stack([width - points[:, 0], points[:, 1]])


def write(result: Any, folder: Path) -> list[Path]:
    """One file a mark in the folder's `drawings`; those of marks that are no more go, so that nobody drills by them."""
    target = Path(folder) / "drawings"
    target.mkdir(parents=True, exist_ok=True)
    made = {target / f"drilling_{mark}.svg": text for mark, text in drawings(result.tables, result.units).items()}
    for old in set(target.glob("drilling_*.svg")) - made.keys():
        old.unlink()
    return [write_text(path, text) for path, text in made.items()]


def drawings(tables: Tables, units: str = "si") -> dict[str, str]:
    """SVG text by drilling mark."""
    listed, drilled = marks(tables, units), holes(tables, units)
    first = dict(zip(tables["panels"]["drill_mark"].tolist()[::-1], range(tables["panels"].n - 1, -1, -1), strict=True))
    return {str(m): _drawing(listed, k, drilled.take(drilled["drill_mark"] == m), tables["panels"]["outline"][first[m]], units)
            for k, m in enumerate(listed["drill_mark"].tolist())}


def _drawing(listed: Table, k: int, drilled: Table, outline: NDArray[Any], units: str) -> str:
    width, height = float(listed["width"][k]), float(listed["height"][k])
    rings = [outline[outline[:, 2] == r, :2] for r in np.unique(outline[:, 2])]
    at = np.column_stack([drilled["x_rear"], drilled["y"]])
    view = _fit(width, height, X0, Y0, W, H)
    small = _fit(width, height, SIDE, Y0 + 24, 230.0, 120.0)
    mark = str(listed["drill_mark"][k])
    body = [part.tag("title", escape(f"Drilling mark {mark}, rear view")), part.tag("rect", width=WIDE, height=DEEP, fill="#ffffff"),
            part.label(X0, 34.0, f"{mark}, seen from the REAR", 20.0, "start"), part.label(X0, 56.0, _facts(listed, k, units), 11.0, "start"),
            part.label(X0, 73.0, str(listed["drilling"][k]), 11.0, "start"),
            _outline([rear(r, width) for r in rings], view), *_holes(at, drilled["hole"], view, float(listed["hole_diameter"][k])),
            *_ordinates(at, view, width, height, units), *_origin(view),
            part.label(SIDE, Y0 + 12, "front view, holes hidden", 11.0, "start"), _outline(rings, small), *_hidden(rear(at, width), small),
            *_list(drilled, units, Y0 + 190), part.label(X0, DEEP - 16, NOTE, 9.0, "start")]
    return ('<?xml version="1.0" encoding="UTF-8"?>\n' + f'<svg xmlns="http://www.w3.org/2000/svg" width="{part.num(WIDE)}" height="{part.num(DEEP)}" '
            f'viewBox="0 0 {part.num(WIDE)} {part.num(DEEP)}" font-family="sans-serif" role="img">\n' + "\n".join(body) + "\n</svg>\n")


def _fit(width: float, height: float, x0: float, y0: float, room_x: float, room_y: float) -> View:
    return View(x0, y0, min(room_x / width, room_y / height), height)


def _figure(value: float, units: str) -> str:
    return f"{value * scale('mm', units):.{1 if units == 'si' else 3}f}"


def _facts(listed: Table, k: int, units: str) -> str:
    def f(name: str) -> str:
        return _figure(float(listed[name][k]), units)
    recess = f", recess {f('counterbore_set')}" if np.nan_to_num(listed["counterbore_set"][k]) >= 0.05 else ""
    material = " ".join(x for x in (str(listed["material"][k]), str(listed["surface"][k])) if x)
    return (f"{f('width')} x {f('height')} x {f('thickness')} {unit_shown('mm', units)}, {material}; panels: {listed['panels'][k]}; "
            f"{listed['item'][k]}: hole diameter {f('hole_diameter')}, depth {f('hole_depth')}, undercut at {f('embedment')}{recess}; {listed['fastener'][k]} {listed['thread'][k]} x {f('bolt_length')}")


def _outline(rings: list[NDArray[Any]], view: View) -> str:
    return part.tag("path", d=part.rings_path([view.at(r) for r in rings]), fill="#eef3f7", fill_rule="evenodd", stroke="#000000", stroke_width=1.5)


def _holes(at: NDArray[Any], names: NDArray[Any], view: View, diameter: float) -> list[str]:
    parts = []
    for (x, y), name in zip(view.at(at).tolist(), names.tolist(), strict=True):
        r = max(diameter * view.per_mm / 2, 3.0)
        parts += [part.tag("circle", cx=x, cy=y, r=r, fill="#ffffff", stroke="#d55e00", stroke_width=1.5), part.line(x - r - 4, y, x + r + 4, y, width=0.5),
                  part.line(x, y - r - 4, x, y + r + 4, width=0.5), part.label(x + r + 4, y - r - 2, str(name), 11.0, "start")]
    return parts


def _hidden(at: NDArray[Any], view: View) -> list[str]:
    return [part.tag("circle", cx=x, cy=y, r=2.5, fill="none", stroke="#d55e00", stroke_dasharray="2 1") for x, y in view.at(at).tolist()]


def _ordinates(at: NDArray[Any], view: View, width: float, height: float, units: str) -> list[str]:
    """Figures below for every x, to the left for every y, and the sides of the rectangle."""
    bottom, parts = view.y0 + height * view.per_mm, []
    for k, x in enumerate(_distinct([*at[:, 0].tolist(), width])):
        px = view.x0 + x * view.per_mm
        parts += [part.line(px, bottom + 4, px, bottom + 20 + 13 * (k % 2), "2 2", 0.5), part.label(px, bottom + 31 + 13 * (k % 2), _figure(x, units), 10.0)]
    for y in _distinct([*at[:, 1].tolist(), height]):
        py = view.y0 + (height - y) * view.per_mm
        parts += [part.line(view.x0 - 22, py, view.x0 - 4, py, "2 2", 0.5), part.label(view.x0 - 26, py + 3.5, _figure(y, units), 10.0, "end")]
    return parts


def _distinct(values: list[float]) -> list[float]:
    return sorted({round(v, 2) for v in values})


def _origin(view: View) -> list[str]:
    """The corner that figures count from, and which way is up."""
    x, y = view.x0, view.y0 + view.height * view.per_mm
    arrow = X0 + W + 25
    return [part.tag("path", d=f"M{part.num(x)} {part.num(y)} h14 l-14 -14 Z", fill="#0072b2"), part.label(x - 26, y + 3.5, "0", 10.0, "end", fill="#0072b2"),
            part.label(x, y + 31, "0", 10.0, fill="#0072b2"), part.line(arrow, Y0 + 60, arrow, Y0 + 8, width=1.5),
            part.tag("path", d=f"M{part.num(arrow)} {part.num(Y0)} l5 12 h-10 Z", fill="#000000"), part.label(arrow, Y0 + 76, "UP", 11.0)]


def _list(drilled: Table, units: str, top: float) -> list[str]:
    unit = unit_shown("mm", units)
    rows = [("hole", f"x, {unit}", f"y, {unit}", "role"), *zip(drilled["hole"].tolist(), (_figure(v, units) for v in drilled["x_rear"].tolist()),
                                                              (_figure(v, units) for v in drilled["y"].tolist()), drilled["role"].tolist(), strict=True)]
    return [part.label(SIDE + dx, top + 15 * i, str(cell), 10.5, anchor)
            for i, row in enumerate(rows) for cell, (dx, anchor) in zip(row, ((0.0, "start"), (95.0, "end"), (165.0, "end"), (185.0, "start")), strict=True)]
