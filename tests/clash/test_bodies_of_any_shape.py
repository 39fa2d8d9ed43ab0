"""Zones against L and U profiles, tubes, bars, cones and boxes, any way round: the answers of a slow and plain search.

Expected values come from tests/clash/brute.py, which clips every triangle and shares no code with the finder.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.clash.contacts import contacts
from bimcheck.clash.frames import frames_of
from bimcheck.clash.placed import place
from bimcheck.clash.zones import Zone
from bimcheck.core.tables import Table
from tests.clash import brute
from tests.relate.build import bodies, body

ZONES = (Zone("drill", (15.0, 15.0), 10.0, round=True), Zone("clip", (30.0, 25.0), 30.0), Zone("bolt", (10.0, 10.0), 40.0, round=True))
SHAPES = {
    "L": brute.prism(brute.l_section(40, 4), 300), "U": brute.prism(brute.u_section(50, 40, 3), 300),
    "bar": brute.prism(brute.circle(12), 300), "tube": brute.prism(brute.circle(45), 300, [brute.circle(41)]),
    "box": brute.prism([(0, 0), (40, 0), (40, 60), (0, 60)], 300), "cone": brute.cone(40, 120),
}


def turn(rng: np.random.Generator) -> np.ndarray:
    q, r = np.linalg.qr(rng.normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return q * np.linalg.det(q)


def scene(seed: int, shape: str, square: bool, count: int = 12) -> tuple[Any, Table, list[np.ndarray]]:
    """Anchors 60 mm apart on two panels that stand at an angle, anywhere in the world, and `count` bodies behind each."""
    rng = np.random.default_rng(seed)
    axes = [turn(rng), turn(rng)]
    origin = [rng.uniform(-1e6, 1e6, 3)] * 2
    mouth = np.concatenate([o + np.array([[60.0 * i, 60.0 * j, 0] for i in range(3) for j in range(2)]) @ a for a, o in zip(axes, origin, strict=True)])
    elements = {k: np.array([a[i] for a in axes]) for i, k in enumerate("uvn")}
    elements["n"] = -elements["n"]
    frames = frames_of(mouth, elements, np.repeat([0, 1], 6))
    made = []
    for a, o in zip(axes, origin, strict=True):
        for _ in range(count):
            own = np.eye(3)[:, rng.permutation(3)] * rng.choice([-1, 1], 3) if square else turn(rng)
            own = own * np.linalg.det(own)
            points = (SHAPES[shape] - [150, 20, 20]) @ own
            # A grid of places, so that some bodies stand alike before some anchors.
            at = np.array([*rng.choice([-40, 0, 20, 60, 130], 2), rng.choice([0, 10, 25, 45, 80])])
            made.append((points + at) @ a + o)
    return frames, bodies(*(body(t.reshape(-1, 9), "member") for t in made)), made


def slow(frames: Any, made: list[np.ndarray]) -> set[tuple[int, int, int]]:
    found = set()
    group = np.searchsorted(frames.starts, np.arange(len(frames.mouth)), side="right") - 1
    for k, mouth in enumerate(frames.mouth):
        axes = np.array([frames.u[group[k]], frames.v[group[k]], -frames.n[group[k]]])
        for b, triangles in enumerate(made):
            at = (triangles - mouth) @ axes.T
            if (at.min(axis=(0, 1)) < 40).all() and (at.max(axis=(0, 1)) > [-40, -40, 0]).all():
                found |= {(k, b, z) for z, zone in enumerate(ZONES) if brute.enters(at, zone) or brute.holds(at, zone)}
    return found


@pytest.mark.parametrize("square", [True, False], ids=["along the panel", "any way"])
@pytest.mark.parametrize("shape", list(SHAPES))
def test_against_the_slow_search(shape: str, square: bool) -> None:
    frames, obstacles, made = scene(5, shape, square)
    got = contacts(frames, obstacles, ZONES)
    fast = {(int(a), int(b), z) for a, b, on in zip(got.anchor, got.body, got.zone, strict=True) for z in np.flatnonzero(on).tolist()}
    want = slow(frames, made)
    assert len(want) > 12
    assert fast == want


def test_only_solid_boxes_along_the_panel_are_taken_for_their_extents() -> None:
    """An open box (a lid is missing) and a turned one have the same corners or the same count of triangles."""
    whole = SHAPES["box"]
    lidless = np.concatenate([whole[:2], whole[:2], whole[4:]])
    slope = np.array([[1, 0, 0], [0, 0.8, 0.6], [0, -0.6, 0.8]])
    axes = {"u": np.eye(3)[:1], "v": np.eye(3)[1:2], "n": -np.eye(3)[2:]}
    frames = frames_of(np.zeros((1, 3)), axes, np.array([0]))
    table = bodies(*(body(t.reshape(-1, 9), "member") for t in (whole, lidless, whole @ slope, SHAPES["L"])))
    placed, slot = place(table, frames.axes, np.zeros(4, np.int64), np.arange(4))
    assert placed.upright[slot].tolist() == [True, False, False, False]


def test_away_is_the_distance_to_the_extents() -> None:
    """A box from 40 to 80 along x, 30 to 90 along y, 50 to 350 deep: 70.7 mm by 40, 30, 50 mm (3-4-5 and 50-50)."""
    triangles = SHAPES["box"][:, :, [1, 2, 0]] + [40, 30, 50]
    axes = {"u": np.eye(3)[:1], "v": np.eye(3)[1:2], "n": -np.eye(3)[2:]}
    frames = frames_of(np.zeros((1, 3)), axes, np.array([0]))
    got = contacts(frames, bodies(body(triangles.reshape(-1, 9), "rail")), [Zone("reach", (100.0, 100.0), 120.0)])
    assert got.away.tolist() == pytest.approx([np.sqrt(40**2 + 30**2 + 50**2)])
