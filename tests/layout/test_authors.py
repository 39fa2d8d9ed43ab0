"""The author's fasteners as positions.  Places by hand, on panels that stand askew and far from the origin."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bimcheck.core.tables import Ragged, Table
from bimcheck.layout.authors import authors_anchors
from bimcheck.layout.keep import Kept

RING = np.array([[0, 0, 0], [1000, 0, 0], [1000, 700, 0], [0, 700, 0]], dtype=float)
PIN, CLIP = (8.0, 8.0, -8.0, 20.0), (60.0, 40.0, 0.0, 25.0)  # width, height, from and to behind the rear face, mm
Body = tuple[str, float, float, tuple[float, float, float, float]]


def frame(turn: float, lean: float, at: Sequence[float]) -> tuple[np.ndarray, ...]:
    """origin, u, v, n of a panel turned in plan and leaning."""
    u = np.array([np.cos(turn), np.sin(turn), 0.0])
    level = np.array([np.sin(turn), -np.cos(turn), 0.0])
    n = np.cos(lean) * level + np.sin(lean) * np.array([0, 0, 1.0])
    return np.asarray(at, dtype=float), u, np.cross(n, u), n


def kept(bodies: Sequence[Body], frames: Sequence[tuple[np.ndarray, ...]] = (), of: int = 0) -> Kept:
    """Bodies given in the frame of panel `of`: class, x, y of the middle, size."""
    frames = list(frames) or [frame(0.0, 0.0, (0, 0, 0))]
    panels = Table("panels", len(frames), {
        **{k: np.array([f[i] for f in frames]) for i, k in enumerate(("origin", "u", "v", "n"))}, "width": np.full(len(frames), 1000.0),
        "height": np.full(len(frames), 700.0), "thickness": np.full(len(frames), 30.0), "outline": Ragged.of([RING] * len(frames), (3,))})
    corners = [_corners(frames[of], x, y, size) for _, x, y, size in bodies]
    obstacles = Table("obstacles", len(bodies), {
        "ifc_class": np.array([b[0] for b in bodies], dtype=object), "box": np.array([[*c.min(axis=0), *c.max(axis=0)] for c in corners]).reshape(-1, 6),
        "triangles": Ragged.of([np.array([np.r_[c[a], c[b], c[d]] for a, b, d in ((0, 1, 2), (3, 4, 5), (5, 6, 7))]) for c in corners], (9,))})
    return authors_anchors(panels, obstacles)


def _corners(at: tuple[np.ndarray, ...], x: float, y: float, size: tuple[float, float, float, float]) -> np.ndarray:
    origin, u, v, n = at
    return np.array([origin + (x + dx * size[0] / 2) * u + (y + dy * size[1] / 2) * v - (30.0 + d) * n
                     for dx in (-1, 1) for dy in (-1, 1) for d in size[2:]])


def fasteners(*places: tuple[float, float]) -> list[Body]:
    return [("IfcMechanicalFastener", x, y, PIN) for x, y in places]


@settings(max_examples=25, deadline=None)
@given(turn=st.floats(-3, 3), lean=st.floats(-0.6, 0.6), far=st.sampled_from([0.0, 3e5, 5.8e9]), x=st.floats(20, 980), y=st.floats(20, 680))
def test_places_are_those_of_the_panels_frame(turn: float, lean: float, far: float, x: float, y: float) -> None:
    found = kept(fasteners((x, y)), [frame(turn, lean, (far, -far, 3000.0))])
    np.testing.assert_allclose(found.points, [[x, y]], atol=1e-3 if far < 1e9 else 0.01)
    assert found.unclear.tolist() == [""] and found.obstacles.tolist() == [0]


def test_bolt_washer_and_clip_are_one_anchor_told_by_the_bolt() -> None:
    """The clip's middle is 12 mm below its bolt."""
    found = kept([("IfcDiscreteAccessory", 200, 188, CLIP), *fasteners((200, 200)), ("IfcFastener", 200.4, 200, (16.0, 16.0, 0.0, 1.0)), *fasteners((800, 200))])
    assert found.points.tolist() == [[200.0, 200.0], [800.0, 200.0]]
    assert found.obstacles.tolist() == [0, 1, 2, 3] and found.unclear[0] == ""


def test_accessories_count_where_there_is_no_fastener() -> None:
    clips = [("IfcDiscreteAccessory", 200.0, 200.0, CLIP), ("IfcDiscreteAccessory", 800.0, 200.0, CLIP)]
    assert kept(clips).points.tolist() == [[200.0, 200.0], [800.0, 200.0]]
    assert kept([*clips, *fasteners((500, 350))]).points.tolist() == [[500.0, 350.0]]


@pytest.mark.parametrize(("body", "why"), [
    (("IfcMechanicalFastener", 500.0, 350.0, (700.0, 8.0, -8.0, 20.0)), "too wide"),
    (("IfcMechanicalFastener", 500.0, 350.0, (8.0, 8.0, -40.0, 20.0)), "through the front"),
    (("IfcMechanicalFastener", 206.0, 200.0, PIN), "do not share an axis")])
def test_what_cannot_be_told_is_said(body: Body, why: str) -> None:
    found = kept([*fasteners((200, 200)), body])
    assert why in found.unclear[0] and not len(found.panel) and not len(found.obstacles)


def test_a_fastener_at_two_panels_is_said_of_both() -> None:
    """Two panels one behind the other within a fastener's length share no anchor."""
    two = [frame(0.0, 0.0, (0, 0, 0)), frame(0.0, 0.0, (0, 31.0, 0))]
    found = kept([("IfcMechanicalFastener", 500.0, 350.0, (8.0, 8.0, -8.0, 40.0))], two)
    assert all("two panels" in u for u in found.unclear)


@pytest.mark.parametrize("body", [
    ("IfcMechanicalFastener", 500.0, 350.0, (8.0, 8.0, 30.0, 60.0)),  # a rail's screw behind the panel
    ("IfcMechanicalFastener", 1010.0, 350.0, PIN),  # beside it
    ("IfcMember", 500.0, 350.0, PIN)])
def test_other_bodies_are_no_anchors(body: Body) -> None:
    found = kept([body])
    assert not len(found.panel) and found.unclear[0] == ""


def test_no_bodies_at_all() -> None:
    found = kept([])
    assert not len(found.panel) and not found.there.any()
