"""Anchors against bodies.  Expected figures follow from the boxes and cylinders laid out here, by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bimcheck.clash import anchors
from bimcheck.clash.zones import TOUCH, Zone, enters, surrounds
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Ragged, Table
from tests.clash.common import settings
from tests.relate.build import bodies, body, box

T = 30.0  # thickness; the rear face of the south panel lies at y = 30
AT = (500.0, 800.0)  # x, z of the anchor


def panels(*, corner: bool = False) -> Table:
    """A south panel 1000 x 1600 with its lower-left corner at the origin; with `corner` an east panel that runs behind it."""
    rows = [((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0))]
    rows += [((530.0, T, 0.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0))] if corner else []
    n = len(rows)
    ring = np.array([[0, 0, 0], [1000, 0, 0], [1000, 1600, 0], [0, 1600, 0]], float)
    return Table("elements", n, {
        "origin": np.array([r[0] for r in rows]), "u": np.array([r[1] for r in rows]), "v": np.tile([0.0, 0.0, 1.0], (n, 1)),
        "n": np.array([r[2] for r in rows]), "width": np.full(n, 1000.0), "height": np.full(n, 1600.0), "thickness": np.full(n, T),
        "outline": Ragged.of([ring] * n), "status": np.full(n, "panel", dtype=object), "facade": np.full(n, "F1", dtype=object)})


def find(*obstacles: Table, corner: bool = False, at: tuple[float, float] = AT, **changed: Any) -> list[Issue]:
    x, z = at
    anchor = Table("anchors", 1, {"panel": np.array([0]), "slot": np.array([3]), "wx": np.array([x]), "wy": np.array([T]), "wz": np.array([z])})
    parts = bodies(*obstacles)
    return anchors.find({"elements": panels(corner=corner), "anchors": anchor, "obstacles": parts}, settings(**changed))


def behind(low: tuple[float, float, float], high: tuple[float, float, float], role: str = "member", name: str = "") -> Table:
    """A box by x, depth behind the rear face, z from the anchor."""
    base = np.array([AT[0], T, AT[1]])
    return box(list(base + low), list(base + high), role, name=name)


def rules(found: list[Issue]) -> list[str]:
    return [i.rule for i in found]


@pytest.mark.parametrize(("low", "high", "zones", "move"), [
    # Default zones: drill radius 15 to 10 mm, clip 60 x 60 to 30 mm, bolt radius 10 to 40 mm.
    ((20, 5, -500), (80, 25, 500), "clip", 10.0),  # a post beside: 30 mm half width less 20 mm
    ((-500, 20, -500), (500, 60, -20), "clip", 10.0),  # a slab edge below: up by 30 - 20
    ((-5, 35, -500), (5, 60, 500), "bolt", 15.0),  # behind the clip zone: 10 mm radius plus half of 10 mm
    ((-500, 0, 12), (500, 4, 500), "drill and clip", 18.0),  # on the rear face: 30 - 12
])
def test_a_body_in_a_zone(low: tuple[float, float, float], high: tuple[float, float, float], zones: str, move: float) -> None:
    (issue,) = find(behind(low, high, name="Post 12"))
    assert (issue.rule, issue.severity) == ("anchor-clash", "error") and f"{zones} zone of A3" in issue.text
    assert issue.required - issue.measured == pytest.approx(move) and (issue.x, issue.y, issue.z) == (500.0, 30.0, 800.0)
    assert f"{move:.1f} mm" in issue.way_out


@pytest.mark.parametrize(("low", "high"), [
    ((30, 0, -500), (90, 200, 500)), ((-90, 0, 30), (90, 200, 90)), ((-90, 40, -90), (90, 200, 90)), ((-90, -40, -90), (90, 0, 90)),
], ids=["beside", "above", "behind", "in front"])
def test_touching_is_not_a_clash(low: tuple[float, float, float], high: tuple[float, float, float]) -> None:
    assert find(behind(low, high)) == []


def test_the_corner_of_a_square_around_the_bolt_is_free() -> None:
    """A box whose corner is 8, 8 from the axis: 11.3 mm away, outside the radius of 10 mm, though inside its square."""
    assert find(behind((8, 31, 8), (50, 60, 50))) == []
    assert rules(find(behind((7, 31, 7), (50, 60, 50)))) == ["anchor-clash"]  # 9.9 mm


def test_a_zone_wholly_inside_a_body_is_a_clash_and_inside_a_tube_is_not() -> None:
    assert rules(find(behind((-300, -5, -300), (300, 300, 300), "wall"))) == ["anchor-clash"]
    assert find(ring_tube(60.0, 80.0)) == []
    assert rules(find(ring_tube(20.0, 80.0))) == ["anchor-clash"]


def ring_tube(inner: float, outer: float) -> Table:
    """A tube along the anchor's axis from the rear face to 200 mm behind it, 48 sides."""
    a = np.linspace(0, 2 * np.pi, 49)
    ring = np.column_stack([np.cos(a), np.zeros(49), np.sin(a)])
    base = np.array([AT[0], T + 0.0, AT[1]])
    far = np.array([0.0, 200.0, 0.0])
    circles = [base + ring * inner, base + ring * outer, base + far + ring * inner, base + far + ring * outer]
    made = [np.concatenate([p[k], q[k], q[k + 1]]) for p, q in ((0, 1), (2, 3), (0, 2), (1, 3)) for p, q in ((circles[p], circles[q]),) for k in range(48)]
    made += [np.concatenate([p[k], q[k + 1], p[k + 1]]) for p, q in ((0, 1), (2, 3), (0, 2), (1, 3)) for p, q in ((circles[p], circles[q]),) for k in range(48)]
    return body(np.array(made), "service")


def test_a_pipe_is_met_by_its_round_not_by_its_box() -> None:
    """A pipe of radius 40 along z, its axis 60 mm beside and 60 mm behind the anchor: nearest to the clip zone's far edge
    (30, 30) by 42.4 mm, so free; its box reaches x = 20 and a depth of 20."""
    assert find(pipe(60.0, 60.0, 40.0)) == []
    assert rules(find(pipe(60.0, 60.0, 44.0))) == ["anchor-clash"]


def pipe(x: float, depth: float, r: float) -> Table:
    a = np.linspace(0, 2 * np.pi, 97)
    circle = np.column_stack([AT[0] + x + r * np.cos(a), T + depth + r * np.sin(a)])
    made = []
    for k in range(96):
        (x0, y0), (x1, y1) = circle[k], circle[k + 1]
        made += [[x0, y0, 0, x1, y1, 0, x1, y1, 3000], [x0, y0, 0, x1, y1, 3000, x0, y0, 3000]]
    return body(np.array(made), "service")


def test_supports_ignored_bodies_fasteners_and_unsupported() -> None:
    rail = behind((-500, 5, -20), (500, 45, 20), "rail", "Rail")
    assert find(rail) == []
    far = behind((-500, 5, -320), (500, 45, -280), "rail", "Rail")
    (alone,) = find(far)
    assert (alone.rule, alone.severity) == ("unsupported", "warning") and "A3" in alone.text
    near, next_one = (behind((x, 5, -20), (x + 15, 45, 20), "bracket", "Bracket") for x in (0, 20))
    assert rules(find(near, next_one)) == ["anchor-clash"]  # the nearest bracket carries, the other is in the way
    assert rules(find(rail, near)) == ["anchor-clash"]
    assert rules(find(rail, behind((0, 0, 0), (8, 30, 8), "fastener"))) == ["fastener-in-zone"]
    assert find(rail, behind((-90, 0, -90), (90, 90, 90), "member", "Old bracket 7"), clash__ignored_names=["old bracket*"]) == []
    assert find(rail, behind((-90, 0, -90), (90, 90, 90), "ignored")) == []


def test_a_return_panel_behind_is_in_the_way() -> None:
    """The east panel's rear face stands at x = 500, its front at 530: through the anchor's axis at 500."""
    (issue,) = find(corner=True)
    assert issue.rule == "anchor-clash" and issue.other_panel == 1
    assert find(corner=True, at=(460.0, 800.0)) == []  # 40 mm from its rear face


@pytest.mark.parametrize("zone", [Zone("disc", (20.0, 20.0), 40.0, round=True), Zone("box", (30.0, 15.0), 25.0)], ids=["round", "square"])
def test_triangles_against_points_spread_over_them(zone: Zone) -> None:
    """Between two bounds: a point of the triangle inside the zone is a hit; no hit without a point inside a zone that is
    larger by the spacing of the points."""
    rng = np.random.default_rng(7)
    corner = rng.normal(size=(3000, 1, 3)) * 40 + rng.normal(size=(3000, 3, 3)) * rng.choice([3.0, 20.0, 200.0], size=(3000, 1, 1))
    got = enters(np.moveaxis(corner, 0, 2), zone)
    grid = np.array([(i, j) for i in range(61) for j in range(61 - i)]) / 60
    weights = np.column_stack([grid, 1 - grid.sum(axis=1)])
    points = np.einsum("kc,tcx->tkx", weights, corner)
    longest = np.max(np.linalg.norm(corner - np.roll(corner, 1, axis=1), axis=2), axis=1) / 60
    assert not (_inside(points, zone, -TOUCH) & ~got).any()
    assert not (got & ~_inside(points, zone, longest)).any()
    assert 0.02 < got.mean() < 0.98


def _inside(points: np.ndarray, zone: Zone, more: Any) -> np.ndarray:
    more = np.broadcast_to(np.asarray(more, float), (len(points),))[:, None]
    x, y, z = np.moveaxis(points, 2, 0)
    flat = np.hypot(x, y) < zone.half[0] + more if zone.round else (np.abs(x) < zone.half[0] + more) & (np.abs(y) < zone.half[1] + more)
    return (flat & (z > -more) & (z < zone.depth + more)).any(axis=1)


def test_a_ray_tells_inside_from_outside() -> None:
    cube = box([-50, -50, -50], [50, 50, 50], "wall")["triangles"].values.reshape(-1, 3, 3)
    both = np.concatenate([cube, cube + np.array([200.0, 0.0, 0.0])])
    assert surrounds(np.moveaxis(both, 0, 2), np.repeat([0, 1], 12), 2, 0.0).tolist() == [True, False]


def test_any_turn_of_the_building_gives_the_same() -> None:
    """The same layout turned in plan and moved far off."""
    rng = np.random.default_rng(3)
    low, high = rng.uniform(-80, 40, (40, 3)), rng.uniform(10, 60, (40, 3))
    parts = [behind(tuple(a), tuple(a + b)) for a, b in zip(low, high, strict=True)]
    a = np.radians(33.7)
    turn = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    shift = np.array([5e8, 5.4e9, 0.0]) * 0.001
    whole, flat = bodies(*parts), panels()
    points = whole["triangles"].values.reshape(-1, 3) @ turn.T + shift
    starts = whole["triangles"].offsets[:-1] * 3
    moved = whole.with_columns(triangles=Ragged(points.reshape(-1, 9), whole["triangles"].offsets), box=np.column_stack(
        [np.minimum.reduceat(points, starts), np.maximum.reduceat(points, starts)]))
    turned = flat.with_columns(origin=flat["origin"] @ turn.T + shift, **{k: flat[k] @ turn.T for k in "uvn"})
    mouth = np.array([[AT[0], T, AT[1]]])
    got = []
    for elements, obstacles, at in ((flat, whole, mouth), (turned, moved, mouth @ turn.T + shift)):
        anchor = Table("anchors", 1, {"panel": np.array([0]), "slot": np.array([1]), "wx": at[:, 0], "wy": at[:, 1], "wz": at[:, 2]})
        got.append(anchors.find({"elements": elements, "anchors": anchor, "obstacles": obstacles}, settings()))
    assert 5 < len(got[0]) < 40
    assert [(i.rule, i.text) for i in got[0]] == [(i.rule, i.text) for i in got[1]]
    assert [i.measured for i in got[0]] == pytest.approx([i.measured for i in got[1]], abs=1e-3)


def test_bodies_shifted_alike_are_one_group() -> None:
    """Brackets 12 mm too far to the left behind many anchors: each an issue, all of one group; another shift is another."""
    def group(x: float, name: str) -> str:
        (issue,) = find(behind((x, 5, -500), (x + 60, 25, 500), name=name))
        return issue.group
    assert group(18.0, "F1-02-03 bracket 17") == group(18.0, "F2-01-00 bracket 4") == "bracket, free after 12 mm to the left"
    assert group(10.0, "F1-02-03 bracket 17") == "bracket, free after 20 mm to the left"
