"""Elevation pictures: one SVG a facade, its panels by wind zone and by suction, seen from outside.

Nothing is told by colour alone: the zone's letter, or the suction, stands in every panel.  What no zone covers is hatched.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table, Tables
from bimcheck.core.units import factor
from bimcheck.write import elevation_parts as part
from bimcheck.write.storeys import storeys

LONGEST = 860.0  # px, longest side of a drawn facade
LEFT, RIGHT, TOP, BOTTOM = 130.0, 60.0, 70.0, 110.0  # px around it
NOTE = "Preliminary design aid; local codes and the engineer of record decide."
UNITS = {"si": ("m", "kPa"), "us": ("ft", "psf")}
# Ends of the zones from either end of the facade, by the columns of the standard used.
ZONE_ENDS = (("zone_A_end", "A"), ("zone_B_end", "B"), ("a_zone", "5"))


@dataclass(frozen=True)
class Frame:
    """Where the facade lies on the picture: px per mm, length and height in mm, offset of its left edge in px."""

    scale: float
    length: float
    height: float
    x0: float

    def x(self, s: Any) -> Any:
        return self.x0 + np.asarray(s) * self.scale

    def y(self, z: Any) -> Any:
        return TOP + (self.height - np.asarray(z)) * self.scale

    @property
    def width(self) -> float:
        return LEFT + self.length * self.scale + RIGHT


def write(result: Any, folder: Path) -> list[Path]:
    """One file a facade in the folder's `drawings`; result.tables holds `panels` and `facades`."""
    target = Path(folder) / "drawings"
    target.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, text in pictures(result.tables, getattr(result, "units", "si")).items():
        path = target / f"elevation_{name}.svg"
        path.write_text(text, encoding="utf-8", newline="\n")
        paths.append(path)
    return paths


def pictures(tables: Tables, units: str = "si") -> dict[str, str]:
    """SVG text by name of the facade, in the order of the facades table; names are made fit for files."""
    panels, facades = tables["panels"], tables["facades"]
    drawn = np.isfinite(panels["s_left"]) & (panels["z_top"] > panels["z_bottom"])
    suction = part.classes(-panels["w_suction"] * factor("MPa", UNITS[units][1]))
    found: dict[str, str] = {}
    for k in range(facades.n):
        rows = panels.take((panels["facade_index"] == k) & drawn)
        if rows.n:
            name = _file_name(str(facades["facade_name"][k]), found)
            found[name] = _picture(rows, str(facades["facade_name"][k]), float(facades["facade_length"][k]), suction, units)
    return found


def _file_name(name: str, taken: dict[str, str]) -> str:
    clean = re.sub(r"[^A-Za-z0-9_-]+", "_", name) or "facade"
    same = sum(t == clean or t.startswith(f"{clean}~") for t in taken)
    return f"{clean}~{same + 1}" if same else clean


def _picture(panels: Table, name: str, length: float, suction: part.Classes, units: str) -> str:
    reach = max(length, float((panels["s_left"] + panels["width"]).max()))
    height = float(panels["z_top"].max())
    scale = LONGEST / max(reach, height)
    first = Frame(scale, reach, height, LEFT)
    second = Frame(scale, reach, height, LEFT + first.width)
    total, deep = first.width + second.width, TOP + height * scale + BOTTOM
    body = [
        tag_title(name), part.HATCH, part.tag("rect", width=total, height=deep, fill="#ffffff"),
        *_zones(panels, first, units), *_suctions(panels, second, suction, units),
        *_elevation(panels, first, length, units, f"Facade {name}: wind zones, seen from outside"),
        *_elevation(panels, second, length, units, f"Facade {name}: suction in {UNITS[units][1]}, {_basis(panels)}"),
        part.label(LEFT, deep - 10, NOTE, 8.0, "start"),
    ]
    return ('<?xml version="1.0" encoding="UTF-8"?>\n'
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{part.num(total)}" height="{part.num(deep)}" '
            f'viewBox="0 0 {part.num(total)} {part.num(deep)}" font-family="sans-serif" role="img">\n' + "\n".join(body) + "\n</svg>\n")


def tag_title(name: str) -> str:
    return part.tag("title", escape(f"Facade {name}: wind zones and suction"))


def _basis(panels: Table) -> str:
    return " and ".join(sorted({str(b) for b in panels["w_basis"]}))


def _elevation(panels: Table, frame: Frame, length: float, units: str, title: str) -> list[str]:
    """Title, ground, storeys and dimensions."""
    unit = UNITS[units][0]
    per_mm = factor("mm", unit)
    ground = float(frame.y(0.0))
    left, right = float(frame.x(0.0)), float(frame.x(length))
    parts = [part.label(left, 18.0, title, 12.0, "start"), part.line(left - 15, ground, right + 15, ground, width=2.0),
             *part.dimension(left, right, ground + 22, f"{length * per_mm:.2f} {unit}"),
             *part.upright_dimension(float(frame.y(frame.height)), ground, right + 35, f"{frame.height * per_mm:.2f} {unit}")]
    for name, z in storeys(panels):
        y = float(frame.y(z))
        parts += [part.line(left - 15, y, right + 15, y, "2 3", 0.5), part.label(left - 20, y - 2, f"{name} +{z * per_mm:.2f}", 8.0, "end")]
    for k, (column, zone) in enumerate(c for c in ZONE_ENDS if c[0] in panels):
        parts += _zone_ends(float(panels[column].max()), zone, frame, length, units, 32.0 + 14 * k)
    return parts


def _zone_ends(end: float, zone: str, frame: Frame, length: float, units: str, y: float) -> list[str]:
    """Where a zone ends, from both ends of the facade, as far as they lie apart."""
    if not 0 < end < length:
        return []
    unit = UNITS[units][0]
    parts = part.dimension(float(frame.x(0.0)), float(frame.x(end)), y, f"{zone} {end * factor('mm', unit):.2f}")
    if 2 * end < length:
        parts += part.dimension(float(frame.x(length - end)), float(frame.x(length)), y, f"{zone} {end * factor('mm', unit):.2f}")
    return parts + [part.line(x, y, x, float(frame.y(0.0)), "6 3", 0.6) for x in (float(frame.x(end)), float(frame.x(length - end)))]


def _zones(panels: Table, frame: Frame, units: str) -> list[str]:
    covered = np.isfinite(panels["w_suction"])
    fills = [part.ZONE_FILL.get(str(z), part.OTHER_FILL) if ok else part.UNCOVERED for z, ok in zip(panels["zone"], covered, strict=True)]
    texts = [str(z) if ok else "?" for z, ok in zip(panels["zone"], covered, strict=True)]
    kinds = sorted({t for t, ok in zip(texts, covered, strict=True) if ok})
    legend = [(part.ZONE_FILL.get(kind, part.OTHER_FILL), f"zone {kind}") for kind in kinds]
    return _panels(panels, frame, fills, texts, units) + _legend(frame, legend, not covered.all())


def _suctions(panels: Table, frame: Frame, suction: part.Classes, units: str) -> list[str]:
    values = -panels["w_suction"] * factor("MPa", UNITS[units][1])
    digits = 2 if units == "si" else 0
    fills = [suction.fill(v) if np.isfinite(v) else part.UNCOVERED for v in values]
    texts = [f"{v:.{digits}f}" if np.isfinite(v) else "?" for v in values]
    legend = [(suction.fill((a + b) / 2), f"{part.num(a)} to {part.num(b)}") for a, b in zip(suction.edges, suction.edges[1:], strict=False)]
    return _panels(panels, frame, fills, texts, units) + _legend(frame, legend, not np.isfinite(values).all())


def _panels(panels: Table, frame: Frame, fills: list[str], texts: list[str], units: str) -> list[str]:
    return [piece for i in range(panels.n) for piece in _panel(panels, i, frame, fills[i], texts[i], units)]


def _panel(panels: Table, i: int, frame: Frame, fill: str, text: str, units: str) -> tuple[str, str]:
    s, z, w = (float(panels[c][i]) for c in ("s_left", "z_bottom", "width"))
    rise = float(panels["z_top"][i]) - z
    rings = [np.column_stack([frame.x(s + ring[:, 0]), frame.y(z + ring[:, 1])]) for ring in _rings(panels, i, rise)]
    shape = part.tag("path", part.tag("title", escape(_told(panels, i, units))), d=part.rings_path(rings), fill=fill,
                     fill_rule="evenodd", stroke="#000000", stroke_width=0.4)
    # Small panels get small letters: the picture can be enlarged without end.
    size = float(np.clip(0.5 * min(rise, 2 * w / max(len(text), 1)) * frame.scale, 1.0, 11.0))
    on = "#000000" if fill == part.UNCOVERED else part.ink(fill)
    return shape, part.label(float(frame.x(s + w / 2)), float(frame.y(z + rise / 2)) + 0.35 * size, text, size, fill=on)


def _rings(panels: Table, i: int, rise: float) -> list[NDArray[np.float64]]:
    """Outline and cut-outs in mm from the lower-left corner, as seen square to the facade."""
    w, h = float(panels["width"][i]), float(panels["height"][i])
    if "outline" not in panels or not len(panels["outline"][i]):
        return [np.array([[0, 0], [w, 0], [w, rise], [0, rise]], dtype=float)]
    points = panels["outline"][i]
    flat = points[:, :2] * np.array([1.0, rise / h])
    return [flat[points[:, 2] == ring] for ring in np.unique(points[:, 2])]


def _told(panels: Table, i: int, units: str) -> str:
    """What the picture says on pointing at a panel."""
    unit = UNITS[units][1]
    per = factor("MPa", unit)
    names = [str(panels[c][i]) for c in ("mark", "name", "guid") if c in panels and str(panels[c][i])]
    pressures = f"suction {panels['w_suction'][i] * per:.3f} {unit}, pressure {panels['w_pressure'][i] * per:.3f} {unit}, {panels['w_basis'][i]}"
    return "; ".join([*names[:1], f"zone {panels['zone'][i]}", pressures, *([str(panels["wind_flags"][i])] if panels["wind_flags"][i] else [])])


def _legend(frame: Frame, entries: list[tuple[str, str]], uncovered: bool) -> list[str]:
    """Swatches in rows below the picture."""
    if uncovered:
        entries = [*entries, (part.UNCOVERED, "? not checked")]
    step, y0 = 92.0, float(frame.y(0.0)) + 40
    a_row = max(int(max(frame.length * frame.scale, 2 * step) // step), 1)
    parts = []
    for k, (fill, text) in enumerate(entries):
        x, y = frame.x0 + step * (k % a_row), y0 + 15 * (k // a_row)
        parts += [part.tag("rect", x=x, y=y, width=12.0, height=10.0, fill=fill, stroke="#000000", stroke_width=0.4),
                  part.label(x + 16, y + 9, text, 9.0, "start")]
    return parts
