"""Bodies one by one: every expected value is what the body was laid out with, or elementary geometry."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from bimcheck.read.found import DEGENERATE, NO_BODY, PLATE, ZERO, Found
from tests.read.bodies_ifc import Model, plates, prism_faces

W, H, T = 1200.0, 800.0, 30.0
RECT = [(0.0, 0.0), (W, 0.0), (W, H), (0.0, H)]
HOLE = [(100.0, 100.0), (300.0, 100.0), (300.0, 250.0), (100.0, 250.0)]
TURNS = [((0, 0, 1), (1, 0, 0)), ((0, -1, 0), (1, 0, 0)), ((0.6, 0.8, 0.0), (0.8, -0.6, 0.0)), ((1, 2, 2), (2, 1, -2))]
QUADS = [(0, 3, 2, 1), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]
FANS = [f for q in QUADS for f in (q[:3], (q[0], q[2], q[3]))]
BOX = [(x, y, z) for z in (-T, 0.0) for x, y in RECT]
STRAIGHT, TURNED_OVER = ((1, 0, 0), (0, 1, 0), (0, 0, 1)), ((1, 0, 0), (0, -1, 0), (0, 0, 1))


def read(model: Model, *numbers: int) -> Found:
    return plates(model.file, numbers)


def net(outline: Any) -> float:
    """Shoelace formula: the outline less its cut-outs."""
    rings = [outline[outline[:, 2] == k, :2] for k in np.unique(outline[:, 2])]
    size = [abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2 for x, y in (r.T for r in rings)]
    return float(size[0] - sum(size[1:]))


def sides(found: Found, i: int = 0) -> list[float]:
    return sorted(np.ptp(found.outline[i][:, :2], axis=0).tolist())


def is_plate(found: Found, size: tuple[float, float] = (H, W), thickness: float = T, area: float = W * H) -> None:
    assert (found.state[0], found.form[0]) == (PLATE, "flat")
    assert sides(found) == pytest.approx(sorted(size), abs=0.01)
    assert found.thickness[0] == found.thickness_max[0] == pytest.approx(thickness, abs=0.01)
    assert net(found.outline[0]) == pytest.approx(area, rel=1e-5)
    assert np.allclose(np.cross(found.u[0], found.v[0]), found.n[0], atol=1e-9)


@pytest.mark.parametrize("z, x", TURNS)
@pytest.mark.parametrize("profile, depth", [((W, H), T), ((W, T), H), ((T, H), W)])
def test_thickness_may_be_any_side_of_an_extruded_rectangle(profile: tuple[float, float], depth: float, z: Any, x: Any) -> None:
    m = Model()
    solid = m.extrusion(m.rectangle(*profile), depth, m.frame((10, 20, 30), z, x))
    is_plate(read(m, m.element([solid], m.frame((1e6, -2e6, 5e3), (0, 0, 1), (0.6, 0.8, 0)))))


def test_the_body_lies_between_the_plane_at_origin_and_that_at_minus_thickness() -> None:
    m = Model()
    found = read(m, m.element([m.extrusion(m.rectangle(W, H), T, direction=(0, 0, -1))]))
    is_plate(found)
    assert sorted([found.origin[0, 2], found.origin[0, 2] - T * found.n[0, 2]]) == pytest.approx([-T, 0.0], abs=1e-6)


@pytest.mark.parametrize("outer", [RECT, RECT[::-1], [RECT[0], (W / 2, 0.0), *RECT[1:]]])
def test_polyline_profiles_whatever_way_they_run(outer: Any) -> None:
    m = Model()
    is_plate(read(m, m.element([m.extrusion(m.polygon(outer), T)])))


def test_cut_outs_in_the_profile() -> None:
    m = Model()
    found = read(m, m.element([m.extrusion(m.polygon(RECT, HOLE), T)]))
    is_plate(found, area=W * H - 200 * 150)
    assert set(found.outline[0][:, 2]) == {0.0, 1.0}


def test_oblique_extrusion_is_as_thick_as_it_is_high() -> None:
    m = Model()
    s = math.sqrt(0.5)
    found = read(m, m.element([m.extrusion(m.rectangle(W, H), T / s, direction=(s, 0, s))]))
    assert found.thickness[0] == pytest.approx(T, abs=0.01)  # depth times the sine of its slope
    assert sides(found) == pytest.approx([H, W], abs=0.01)
    assert len(found.back[0])  # the two faces are not behind one another


@pytest.mark.parametrize("scales, size, thickness", [((1.0,), (W, H), T), ((2.0,), (2 * W, 2 * H), 2 * T),
                                                     ((0.5, 2.0, 1.5), (0.5 * W, 2 * H), 1.5 * T)])
@pytest.mark.parametrize("axes", [STRAIGHT, TURNED_OVER])
def test_maps_scale_and_mirror(scales: Any, size: tuple[float, float], thickness: float, axes: Any) -> None:
    m = Model()
    item = m.mapped(m.extrusion(m.polygon(RECT), T), (5, 6, 7), axes, scales)
    is_plate(read(m, m.element([item])), size, thickness, size[0] * size[1])


@pytest.mark.parametrize("solid", [True, False])
def test_a_mirroring_map_moves_a_cut_out_to_the_other_side(solid: bool) -> None:
    m = Model()
    body = m.extrusion(m.polygon(RECT, HOLE), T) if solid else m.brep(holed())
    found = read(m, m.element([m.mapped(body, (0, 0, 0), TURNED_OVER)]))
    is_plate(found, area=W * H - 200 * 150)
    o = found.outline[0][found.outline[0][:, 2] == 1]
    points = found.origin[0] + o[:, :1] * found.u[0] + o[:, 1:2] * found.v[0]
    assert points.mean(axis=0)[:2] == pytest.approx((200.0, -175.0), abs=0.01)  # middle of the hole, y turned over


def holed() -> list[Any]:
    """Faces of the plate with the rectangular hole."""
    rings = [[(*p, z) for p in ring] for ring in (RECT, HOLE) for z in (0.0, -T)]
    outer, inner = prism_faces(rings[0], rings[1]), prism_faces(rings[2], rings[3])
    faces = [[outer[k][0], inner[k][0][::-1]] for k in (0, 1)]
    return [*faces, *outer[2:], *[[f[0][::-1]] for f in inner[2:]]]


@pytest.mark.parametrize("body", ["brep", "triangles", "loose triangles", "inside out"])
def test_boxes_given_by_their_faces(body: str) -> None:
    m = Model()
    if body == "brep":
        item = m.brep([[[BOX[i] for i in q]] for q in QUADS])
    elif body == "loose triangles":  # each triangle with corners of its own, as some exporters write
        item = m.triangles([BOX[i] for f in FANS for i in f], [(3 * k, 3 * k + 1, 3 * k + 2) for k in range(12)])
    else:
        item = m.triangles(BOX, [f[::-1] for f in FANS] if body == "inside out" else FANS)
    is_plate(read(m, m.element([item], m.frame((0, 0, 0), (0.6, 0.8, 0.0), (0.8, -0.6, 0.0)))))


def test_a_box_that_lacks_a_side_is_still_a_plate_of_that_size() -> None:
    m = Model()
    is_plate(read(m, m.element([m.triangles(BOX, FANS[:-2])])))


@pytest.mark.parametrize("profile, gone, rel", [("rectangle", 200.0 * 200.0, 1e-6), ("circle", math.pi * 100.0**2, 1e-3)])
def test_openings_are_cut(profile: str, gone: float, rel: float) -> None:
    m = Model()
    number = m.element([m.extrusion(m.polygon(RECT), T)])
    shape = m.rectangle(200, 200) if profile == "rectangle" else m("IfcCircleProfileDef", "AREA", None, None, 100.0)
    m.opening(number, [m.extrusion(shape, 200.0)], m.frame((400, 300, -100)))
    assert W * H - net(read(m, number).outline[0]) == pytest.approx(gone, rel=rel)


def test_an_opening_that_stops_short_of_the_plate_cuts_nothing() -> None:
    m = Model()
    number = m.element([m.extrusion(m.polygon(RECT), T)])
    m.opening(number, [m.extrusion(m.rectangle(200, 200), 50.0)], m.frame((400, 300, -60)))
    is_plate(read(m, number))


def test_chamfered_faces_differ_front_and_back() -> None:
    m = Model()
    front, back = [(*p, 0.0) for p in RECT], [(10, 10, -T), (W - 10, 10, -T), (W - 10, H - 10, -T), (10, H - 10, -T)]
    found = read(m, m.element([m.brep(prism_faces(front, back))]))
    assert sorted([net(found.outline[0]), net(found.back[0])]) == pytest.approx([(W - 20) * (H - 20), W * H], rel=1e-6)
    assert (found.form[0], found.thickness[0]) == ("flat", pytest.approx(T, abs=0.01))


@pytest.mark.parametrize("along", ["height", "width"])
@pytest.mark.parametrize("way", [1, -1])
def test_a_tapered_plate_is_read_from_the_face_flush_with_its_neighbours(along: str, way: int) -> None:
    m = Model()
    upright = m.frame((0, 0, 0), (0, -1, 0), (1, 0, 0))
    depth = [T, T, T + 20, T + 20] if along == "height" else [T, T + 20, T + 20, T]
    back = [(*p, -d) for p, d in zip(RECT, depth, strict=True)]
    faces = prism_faces([(*p, 0.0) for p in RECT], back)[::way]
    flat = [m.element([m.extrusion(m.polygon(RECT), T, m.frame((k * (W + 8), 0, -T)))], upright) for k in (1, 2)]
    found = read(m, m.element([m.brep(faces)], upright), *flat)
    assert found.form[0] == "tapered"
    assert (found.thickness[0], found.thickness_max[0]) == pytest.approx((T, T + 20), abs=0.01)
    assert abs(found.n[0] @ [0.0, -1.0, 0.0]) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("radius", [3000.0, 8000.0])
@pytest.mark.parametrize("half_deg, pieces", [(3.0, 8), (10.0, 16), (11.5, 12), (25.0, 40)])
def test_curved_plates(radius: float, half_deg: float, pieces: int) -> None:
    m = Model()
    half = math.radians(half_deg)
    angle = np.linspace(-half, half, pieces + 1)
    outer, inner = (np.column_stack([r * np.sin(angle), r * np.cos(angle)]) for r in (radius, radius - T))
    found = read(m, m.element([m.extrusion(m.polygon([*outer.tolist(), *inner[::-1].tolist()]), H)]))
    assert found.form[0] == "curved"
    # rise of an arc over its chord: r (1 - cos), of the outer or of the inner side
    assert min(abs(found.sagitta[0] - r * (1 - math.cos(half))) for r in (radius, radius - T)) < 0.05
    assert found.thickness[0] == pytest.approx(T, abs=0.2)


def test_what_is_no_plate() -> None:
    m = Model()
    none = m.element([])
    surface = m.element([m.triangles(BOX, FANS[2:4])])
    pressed = m.element([m.triangles([(x, y, 0.0) for x, y, _ in BOX], FANS)])
    needle = m.element([m.triangles([(0, 0, 0), (1000, 0, 0), (2000, 0, 0)], [(0, 1, 2)])])
    no_depth = m.element([m.extrusion(m.rectangle(W, H), 1e-9)])
    found = read(m, none, surface, pressed, needle, no_depth)
    assert list(found.state) == [NO_BODY, ZERO, ZERO, DEGENERATE, ZERO]
    assert not any(len(o) for o in found.outline)


def test_outlines_that_cross_themselves_are_degenerate() -> None:
    m = Model()
    bow_tie = [RECT[0], RECT[2], RECT[1], RECT[3]]
    twisted = [RECT[0], (W / 2, -50.0), RECT[2], RECT[1], RECT[3]]
    found = read(m, *(m.element([m.extrusion(m.polygon(ring), T)]) for ring in (bow_tie, twisted)))
    assert list(found.state) == [DEGENERATE, DEGENERATE]


@pytest.mark.parametrize("depth", [60.0, 400.0, 700.0])
def test_a_return_along_an_edge_is_not_overlooked(depth: float) -> None:
    m = Model()
    ell = [(0.0, 0.0), (W, 0.0), (W, T), (T, T), (T, depth), (0.0, depth)]
    found = read(m, m.element([m.extrusion(m.polygon(ell), H)]))
    assert (found.state[0], found.form[0]) == (PLATE, "folded" if depth > 300.0 else "profiled")
    assert found.thickness[0] == pytest.approx(T, abs=0.01)


def test_layers_on_one_another_are_not_taken_for_the_first_alone() -> None:
    m = Model()
    layers = [m.extrusion(m.polygon(RECT), T), m.extrusion(m.polygon(RECT), 10.0, m.frame((0, 0, T)))]
    found = read(m, m.element(layers))
    assert found.form[0] != "flat" or found.thickness[0] == pytest.approx(T + 10.0)


def test_far_from_the_origin_nothing_is_lost() -> None:
    m = Model()
    at = (5.8e9, -4.4e9, 1.0e5)
    found = read(m, m.element([m.triangles(BOX, FANS)], m.frame(at)))
    is_plate(found)
    assert np.abs(found.origin[0] - at).max() <= W + 1.0


def test_metres_become_millimetres() -> None:
    m = Model(prefix=None)
    ring = [(x / 1e3, y / 1e3) for x, y in RECT]
    is_plate(read(m, m.element([m.extrusion(m.polygon(ring), T / 1e3)])))


def test_rows_stand_in_the_order_asked_for_and_shared_bodies_serve_each() -> None:
    m = Model()
    small, large = (m.extrusion(m.rectangle(s, s), T) for s in (300.0, 600.0))
    numbers = [m.element([b], m.frame((at, 0, 0))) for b, at in ((large, 0), (small, 5000), (large, 9000))]
    found = read(m, *numbers)
    assert [sides(found, i)[0] for i in range(3)] == pytest.approx([600.0, 300.0, 600.0])
    assert found.origin[2, 0] - found.origin[0, 0] == pytest.approx(9000.0)
