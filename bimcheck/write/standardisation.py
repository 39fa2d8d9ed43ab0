"""standardisation.csv and a curve: what sharing layouts costs and saves."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from bimcheck.core.tables import Table
from bimcheck.write import elevation_parts as part
from bimcheck.write.issue_rows import write_text
from bimcheck.write.tables import texts, write_csv

COLUMNS = {"sharing": "sharing", "cost": "cost_share_of_anchors", "chosen": "chosen", "layouts": "layouts", "marks": "drilling_marks", "anchors": "anchors",
           "u_mean": "utilisation_mean", "u_max": "utilisation_greatest"}
NOTE = "Layouts of panels that pass: every shared one was judged for each panel. Preliminary design aid; the engineer of record decides."
WIDE, DEEP, LEFT, TOP, INNER = 760.0, 430.0, 84.0, 92.0, 220.0  # px


def write(result: Any, folder: Path) -> list[Path]:
    """The table of costs, and layouts over anchors as a picture."""
    table = result.tables["standardisation"]
    drawings = Path(folder) / "drawings"
    drawings.mkdir(parents=True, exist_ok=True)
    listed = write_csv(Path(folder) / "standardisation.csv", list(COLUMNS.values()),
                       [[("yes" if v else "") for v in table[k].tolist()] if k == "chosen" else texts(table[k]) for k in COLUMNS])
    return [listed, write_text(drawings / "standardisation.svg", curve(table))]


def curve(table: Table) -> str:
    """SVG: number of drilling marks over number of anchors, a point a cost; the chosen one is filled and named."""
    x, y = _axis(table["anchors"], LEFT, WIDE - 2 * LEFT), _axis(table["marks"], TOP + INNER, -INNER)
    points = [(x(a), y(b)) for a, b in zip(table["anchors"].tolist(), table["marks"].tolist(), strict=True)]
    body = [part.tag("title", "What sharing layouts costs and saves"), part.tag("rect", width=WIDE, height=DEEP, fill="#ffffff"),
            part.label(LEFT, 26.0, "Sharing layouts: fewer drilling marks, more anchors", 14.0, "start"),
            part.label(LEFT, 44.0, _chosen(table), 11.0, "start"), *_frame(table, x, y),
            part.tag("polyline", points=" ".join(f"{part.num(a)},{part.num(b)}" for a, b in sorted(points)), fill="none", stroke="#0072b2", stroke_width=1.5),
            *_points(table, points), part.label(LEFT, DEEP - 14, NOTE, 9.0, "start")]
    return ('<?xml version="1.0" encoding="UTF-8"?>\n' + f'<svg xmlns="http://www.w3.org/2000/svg" width="{part.num(WIDE)}" height="{part.num(DEEP)}" '
            f'viewBox="0 0 {part.num(WIDE)} {part.num(DEEP)}" font-family="sans-serif" role="img">\n' + "\n".join(body) + "\n</svg>\n")


def _axis(values: Any, start: float, length: float) -> Any:
    """Position of a value on an axis that just holds all of them."""
    low, high = (float(np.min(values)), float(np.max(values))) if len(values) else (0.0, 0.0)
    span = high - low or 1.0
    return lambda v: start + length * (0.06 + 0.88 * (v - low) / span)


def _frame(table: Table, x: Any, y: Any) -> list[str]:
    parts = [part.line(LEFT, TOP + INNER, WIDE - LEFT, TOP + INNER), part.line(LEFT, TOP, LEFT, TOP + INNER),
             part.label(WIDE / 2, TOP + INNER + 40, "anchors", 11.0), part.label(26.0, TOP + INNER / 2, "drilling marks", 11.0, turn=-90.0)]
    for v in _apart(table["anchors"], x, 46.0):
        parts += [part.line(x(v), TOP + INNER, x(v), TOP + INNER + 5), part.label(x(v), TOP + INNER + 19, f"{v}", 10.0)]
    for v in _apart(table["marks"], y, 13.0):
        parts += [part.line(LEFT - 5, y(v), LEFT, y(v)), part.label(LEFT - 9, y(v) + 3.5, f"{v}", 10.0, "end")]
    return parts


def _apart(values: Any, at: Any, least: float) -> list[int]:
    """Values whose ticks do not run into each other, from the least; the greatest is always there."""
    ordered = sorted(set(np.asarray(values).tolist()))
    kept = ordered[-1:]
    for v in ordered[:-1]:
        if all(abs(at(v) - at(k)) >= least for k in kept):
            kept.append(v)
    return sorted(kept)


def _points(table: Table, points: list[tuple[float, float]]) -> list[str]:
    """A ring a cost, the chosen one filled; names of points that coincide stand together."""
    names: dict[tuple[float, float], list[str]] = {}
    for k, at in enumerate(points):
        names.setdefault((round(at[0], 1), round(at[1], 1)), []).append(str(table["sharing"][k]))
    chosen = {(round(a, 1), round(b, 1)) for (a, b), c in zip(points, table["chosen"].tolist(), strict=True) if c}
    parts = []
    for (a, b), said in sorted(names.items()):
        parts += [part.tag("circle", cx=a, cy=b, r=5.0, fill="#0072b2" if (a, b) in chosen else "#ffffff", stroke="#0072b2", stroke_width=1.5),
                  part.label(a + 9, b - 6, ", ".join(said) + (" (chosen)" if (a, b) in chosen else ""), 10.0, "start")]
    return parts


def _chosen(table: Table) -> str:
    rows = np.flatnonzero(table["chosen"])
    if not len(rows):
        return "nothing chosen"
    return f"chosen, up to {table['sharing'][int(rows[0])]} of the anchors: {told(table)}"


def told(table: Table) -> str:
    """What the chosen sharing saves and costs, in a line; blank where nothing was laid out."""
    rows = np.flatnonzero(table["chosen"])
    if not len(rows) or not table["anchors"][0]:
        return ""
    k = int(rows[0])
    return ", ".join(f"{table[c][0]} {name} become {table[c][k]}" if table[c][0] != table[c][k] else f"{table[c][k]} {name} stay"
                     for c, name in (("marks", "drilling marks"), ("anchors", "anchors"))) + f"; mean utilisation {table['u_mean'][0]:.2f} and {table['u_mean'][k]:.2f}"
