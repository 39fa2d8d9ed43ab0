"""Where a viewer stands for a topic: outside, square to the facade, with the members and their surroundings in view."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.write.issue_canvas import Canvas
from bimcheck.write.issue_marks import SEVERITY

FIELD_OF_VIEW = 60.0  # degrees, upright: the most that BCF 2.1 allows
AROUND, LEAST = 1500.0, 4000.0  # mm around what is shown; least width and height in view
ASPECT = 4 / 3
SIZE = (800, 600)  # px of a snapshot
COLOURS = {0: "#F3B391", 1: "#F7D28A", 2: "#A9CCE5", 3: "#F3F5F7"}


@dataclass(frozen=True)
class View:
    """Window on a facade: middle (mm, world), axes, width and height in view (mm), rows of panels of that facade."""

    middle: NDArray[np.float64]
    u: NDArray[np.float64]
    v: NDArray[np.float64]
    n: NDArray[np.float64]
    width: float
    height: float
    facade: int

    @property
    def camera(self) -> NDArray[np.float64]:
        """Where the camera stands, mm: far enough that the window fills the field of view."""
        return self.middle + self.n * (0.5 * self.height / np.tan(np.radians(FIELD_OF_VIEW / 2)))


def view_of(panels: Table, rows: NDArray[np.int64]) -> View | None:
    """The window that frames panels `rows`, of the facade that most of them lie in; None where none has a face."""
    rows = rows[np.isfinite(panels["origin"][rows]).all(axis=1)]
    if not len(rows):
        return None
    facades, counts = np.unique(panels["facade_index"][rows], return_counts=True)
    facade = int(facades[counts.argmax()])
    rows = rows[panels["facade_index"][rows] == facade]
    first = rows[0]
    u, v, n = (panels[k][first].astype(float) for k in ("u", "v", "n"))
    corners = np.concatenate([panels["origin"][rows] + a * panels["width"][rows, None] * panels["u"][rows] + b * panels["height"][rows, None]
                              * panels["v"][rows] for a, b in ((0, 0), (1, 0), (0, 1), (1, 1))])
    at = np.column_stack([corners @ u, corners @ v, corners @ n])
    low, high = at.min(axis=0), at.max(axis=0)
    middle = 0.5 * (low[0] + high[0]) * u + 0.5 * (low[1] + high[1]) * v + high[2] * n
    width, height = (max(float(high[k] - low[k]) + 2 * AROUND, LEAST) for k in (0, 1))
    height = max(height, width / ASPECT)
    return View(middle, u, v, n, height * ASPECT, height, facade)


def snapshot(panels: Table, view: View | None, marked: Table, title: str) -> bytes:
    """PNG of the window: the panels of the facade, those of the topic tinted, its issues marked.

    marked: the topic's issues (panel and other_panel as rows of elements, x, y, z, severity).
    """
    canvas = Canvas(*SIZE)
    if view is not None:
        _panels(canvas, panels, view, marked)
        _marks(canvas, panels, view, marked)
    canvas.band(34)
    canvas.text(12, 8, title, 17, limit=SIZE[0] - 24)
    return canvas.png()


def _on_canvas(view: View, points: NDArray[np.float64]) -> NDArray[np.float64]:
    from_middle = points - view.middle
    scale = SIZE[0] / view.width
    return np.column_stack([SIZE[0] / 2 + (from_middle @ view.u) * scale, SIZE[1] / 2 - (from_middle @ view.v) * scale])


def _panels(canvas: Canvas, panels: Table, view: View, marked: Table) -> None:
    worst: dict[int, int] = {}
    for *elements, severity in zip(marked["panel"].tolist(), marked["other_panel"].tolist(), marked["severity"].tolist(), strict=True):
        for element in elements:
            worst[element] = min(worst.get(element, 3), SEVERITY.get(severity, 2))
    away = np.abs((panels["origin"] - view.middle) @ np.column_stack([view.u, view.v]))
    reach = np.array([view.width, view.height]) / 2 + np.maximum(panels["width"], panels["height"])[:, None]
    for i in np.flatnonzero((panels["facade_index"] == view.facade) & (away <= reach).all(axis=1)).tolist():
        outline = panels["outline"][i]
        for ring in np.unique(outline[:, 2]):
            own = outline[outline[:, 2] == ring]
            points = panels["origin"][i] + own[:, :1] * panels["u"][i] + own[:, 1:2] * panels["v"][i]
            fill = COLOURS[worst.get(int(panels["element"][i]), 3)] if ring == 0 else "#FFFFFF"
            canvas.polygon(_on_canvas(view, points), fill)


def _marks(canvas: Canvas, panels: Table, view: View, marked: Table) -> None:
    row = {e: k for k, e in enumerate(panels["element"].tolist())}
    points: list[tuple[Any, int]] = []
    for k in range(marked.n):
        at = np.array([marked[c][k] for c in "xyz"], dtype=float)
        panel = row.get(int(marked["panel"][k]), -1)
        if not np.isfinite(at).all() and panel >= 0:
            half = 0.5 * (panels["width"][panel] * panels["u"][panel] + panels["height"][panel] * panels["v"][panel])
            at = panels["origin"][panel] + half
        if np.isfinite(at).all():
            points.append((at, SEVERITY.get(str(marked["severity"][k]), 2)))
    if points:
        drawn = _on_canvas(view, np.array([p for p, _ in points]))
        canvas.marks([(x, y, s, 0) for (x, y), (_, s) in zip(drawn.tolist(), points, strict=True)])
