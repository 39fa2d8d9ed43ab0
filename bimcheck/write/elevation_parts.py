"""Pieces of an elevation picture: SVG elements as text, scales, colours.  Coordinates in px with three digits at most."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

import numpy as np

# Distinguishable with any colour vision: vermillion, orange, bluish green, sky blue, blue, grey.
ZONE_FILL = {"A": "#d55e00", "B": "#e69f00", "C": "#009e73", "D": "#0072b2", "E": "#56b4e9", "5": "#d55e00", "4": "#56b4e9", "table": "#cccccc"}
OTHER_FILL = "#cccccc"
# Ordered values: light is little, dark is much (sampled from viridis).
RAMP = ("#fde725", "#90d743", "#35b779", "#21918c", "#31688e", "#443983")
HATCH = (
    '<defs><pattern id="uncovered" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="6" height="6" fill="#ffffff"/><line x1="0" y1="0" x2="0" y2="6" stroke="#555555" stroke-width="1.5"/></pattern></defs>')
UNCOVERED = "url(#uncovered)"


def num(value: float) -> str:
    """Shortest text with up to two decimals; no negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def tag(name: str, content: str = "", /, **attributes: object) -> str:
    """One element; underscores in attribute names become hyphens."""
    inside = "".join(
        f" {key.rstrip('_').replace('_', '-')}={quoteattr(num(v) if isinstance(v, float) else str(v))}" for key, v in attributes.items())
    return f"<{name}{inside}>{content}</{name}>" if content else f"<{name}{inside}/>"


def label(x: float, y: float, text: str, size: float = 10.0, anchor: str = "middle", fill: str = "#000000", turn: float = 0.0) -> str:
    turned = {"transform": f"rotate({num(turn)} {num(x)} {num(y)})"} if turn else {}
    return tag("text", escape(text), x=float(x), y=float(y), font_size=float(size), text_anchor=anchor, fill=fill, **turned)


def line(x1: float, y1: float, x2: float, y2: float, dash: str = "", width: float = 0.8) -> str:
    dashed = {"stroke_dasharray": dash} if dash else {}
    return tag("line", x1=float(x1), y1=float(y1), x2=float(x2), y2=float(y2), stroke="#000000", stroke_width=float(width), **dashed)


def dimension(x1: float, x2: float, y: float, text: str) -> list[str]:
    """A horizontal dimension: line, end strokes, figure above."""
    ends = [line(x, y - 3, x, y + 3) for x in (x1, x2)]
    return [line(x1, y, x2, y), *ends, label((x1 + x2) / 2, y - 3, text, 8.0)]


def upright_dimension(y1: float, y2: float, x: float, text: str) -> list[str]:
    """A vertical dimension, figure to its left, read from the right."""
    ends = [line(x - 3, y, x + 3, y) for y in (y1, y2)]
    return [line(x, y1, x, y2), *ends, label(x - 3, (y1 + y2) / 2, text, 8.0, turn=-90.0)]


def rings_path(rings: Iterable[np.ndarray]) -> str:
    """A path of closed rings, each (k, 2) px; filled by the even-odd rule, cut-outs stay open."""
    return " ".join("M" + " L".join(f"{num(x)} {num(y)}" for x, y in ring) + " Z" for ring in rings)


def ink(fill: str) -> str:
    """Black or white, whichever reads on this fill (relative luminance)."""
    red, green, blue = (int(fill[i:i + 2], 16) for i in (1, 3, 5))
    return "#000000" if 0.2126 * red + 0.7152 * green + 0.0722 * blue > 110 else "#ffffff"


@dataclass(frozen=True)
class Classes:
    """Classes of an ordered quantity: edges (k + 1,) rising, a colour each."""

    edges: tuple[float, ...]

    def fill(self, value: float) -> str:
        k = int(np.searchsorted(self.edges[1:-1], value, side="right"))
        return RAMP[round(k * (len(RAMP) - 1) / max(len(self.edges) - 2, 1))]


def classes(values: Sequence[float] | np.ndarray) -> Classes:
    """At most six classes with round edges over the finite values."""
    finite = np.asarray(values, dtype=float)
    finite = finite[np.isfinite(finite)]
    low, high = (float(finite.min()), float(finite.max())) if len(finite) else (0.0, 1.0)
    step = _round_up((high - low) / (len(RAMP) - 1))
    first, last = np.floor(low / step + 1e-9), np.ceil(high / step - 1e-9)
    return Classes(tuple(float(np.round(k * step, 9)) for k in np.arange(first, max(last, first + 1) + 1)))


def _round_up(step: float) -> float:
    """The next of 1, 2, 2.5, 5, 10 times a power of ten, at least 0.05."""
    step = max(step, 0.05)
    power = 10.0 ** np.floor(np.log10(step))
    return float(next(k * power for k in (1, 2, 2.5, 5, 10) if k * power >= step * (1 - 1e-9)))
