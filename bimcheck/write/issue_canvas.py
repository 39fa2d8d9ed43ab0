"""A white sheet to draw on: panels, lines, texts and marks; the same drawing gives the same bytes."""

from __future__ import annotations

import io
import math
import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

INK = ("#D55E00", "#E69F00", "#0072B2")  # vermillion, orange, blue: told apart by the colour-blind
ON_INK = ("#FFFFFF", "#000000", "#FFFFFF")
CELL = 44.0  # px within which marks are drawn as one
EDGE = "#8C9AA6"
DISC = np.column_stack([f(np.linspace(0, 2 * np.pi, 24, endpoint=False)) for f in (np.cos, np.sin)])
SHAPES = (np.array([[0, -1.25], [1.25, 0], [0, 1.25], [-1.25, 0]]), np.array([[0, -1.3], [1.3, 1.0], [-1.3, 1.0]]), DISC)


def _wide_face() -> str:
    """A face with Greek, Cyrillic and accents, where the drawing library that brings it is installed."""
    home = find_spec("matplotlib")
    path = Path(home.origin).parent / "mpl-data/fonts/ttf/DejaVuSans.ttf" if home and home.origin else Path()
    return str(path) if path.is_file() else ""


WIDE_FACE = _wide_face()


@lru_cache(maxsize=32)
def _font(size: int, wide: bool) -> Any:
    """The face that comes with the library, which every machine draws alike; it has ASCII only."""
    return ImageFont.truetype(WIDE_FACE, size) if wide else ImageFont.load_default(size)


def _drawable(text: str) -> tuple[str, bool]:
    """The text as the faces have it, and whether it needs the wide one."""
    if text.isascii() or WIDE_FACE:
        return text, not text.isascii()
    return unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode(), False


class Canvas:
    """Coordinates in px from the upper left."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self._image = Image.new("RGB", (width, height), "#FFFFFF")
        self._draw = ImageDraw.Draw(self._image)

    def png(self) -> bytes:
        out = io.BytesIO()
        self._image.save(out, "PNG", compress_level=6)
        return out.getvalue()

    def text(self, x: float, y: float, text: str, size: int, side: str = "left", fill: str = "#000000", limit: float = 0.0) -> None:
        """limit: px that the text may take; what is longer ends in dots."""
        text, wide = _drawable(text)
        font = _font(size, wide)
        if limit and font.getlength(text) > limit:
            while text and font.getlength(text + "...") > limit:
                text = text[:-1]
            text += "..."
        left = {"left": 0.0, "right": font.getlength(text), "middle": font.getlength(text) / 2}[side]
        self._draw.text((x - left, y), text, fill=fill, font=font)

    def line(self, x0: float, y0: float, x1: float, y1: float, *, width: int = 2, fill: str = "#000000", dash: Sequence[float] = ()) -> None:
        """dash: lengths of strokes and gaps in turn."""
        length = float(np.hypot(x1 - x0, y1 - y0))
        edges = [0.0, length]
        if dash:
            turns = int(length / sum(dash)) + 1
            edges = np.minimum(np.cumsum([0.0, *dash] + list(dash) * (turns - 1))[:-1] if len(dash) % 2 == 0 else [0.0, length], length).tolist()
        for a, b in zip(edges[::2], edges[1::2], strict=False):
            ends = [(x0 + (x1 - x0) * t / max(length, 1e-9), y0 + (y1 - y0) * t / max(length, 1e-9)) for t in (a, b)]
            self._draw.line(ends, fill=fill, width=width)

    def polygon(self, points: NDArray[np.float64], fill: str, outline: str = EDGE) -> None:
        self._draw.polygon(points.ravel().tolist(), fill=fill, outline=outline)

    def band(self, height: int) -> None:
        """A white strip along the upper edge."""
        self._draw.rectangle((0, 0, self.width, height), fill="#FFFFFF")

    def bubble(self, x: float, y: float, tag: str) -> None:
        self.polygon(DISC * 20 + (x, y), "#FFFFFF", "#000000")
        self.text(x, y - 11, tag, 19, "middle")

    def mark(self, x: float, y: float, severity: int, text: str, radius: float = 14.0) -> None:
        """The shape of a severity with a number in it."""
        self.polygon(SHAPES[severity] * (radius + 3) + (x, y), "#FFFFFF", "#FFFFFF")
        self.polygon(SHAPES[severity] * radius + (x, y), INK[severity], "#000000")
        size = 17 if len(text) < 3 else 13
        self.text(x, y - 0.62 * size + (3 if severity == 1 else 0), text, size, "middle", ON_INK[severity])

    def marks(self, found: Sequence[tuple[float, float, int, int]]) -> None:
        """x, y, severity, number; what would run into one another is one mark, of the gravest, and the gravest is drawn last."""
        for severity, number, x, y, same, others in reversed(_apart(found)):
            self.mark(x, y, severity, str(number) if number else "", 18.0 if number else 12.0)
            beside = (f"x {same} " if same > 1 else "") + ("+" if others else "")
            if beside:
                self._draw.text((x + 24, y - 8), beside.strip(), fill="#000000", font=_font(15, False), stroke_width=2, stroke_fill="#FFFFFF")


def _apart(found: Sequence[tuple[float, float, int, int]]) -> list[tuple[int, int, float, float, int, bool]]:
    """severity, number, x, y, how many of that group it stands for, and whether others hide behind it; the gravest first."""
    cells: dict[tuple[int, int], list[int]] = {}
    made: list[tuple[int, int, float, float, list[int]]] = []
    for severity, number, x, y in sorted((s, n, x, y) for x, y, s, n in found):
        i, j = int(x // CELL), int(y // CELL)
        around = (k for a in (i - 1, i, i + 1) for b in (j - 1, j, j + 1) for k in cells.get((a, b), ()))
        near = next((k for k in around if math.hypot(made[k][2] - x, made[k][3] - y) < CELL), None)
        if near is None:
            cells.setdefault((i, j), []).append(len(made))
            made.append((severity, number, x, y, [number]))
        else:
            made[near][4].append(number)
    return [(s, n, x, y, held.count(n), any(h != n for h in held)) for s, n, x, y, held in made]
