"""Bodies whose sizes are plain from their numbers: each expected value is worked out beside it."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from bimcheck.core.tables import Table
from bimcheck.read import ReadSettings, read_models
from bimcheck.read.polygons import split
from tests.read.common import net_area, solid, write_model

AXES = "#101=IFCDIRECTION((0.,0.,1.));\n"


def read(tmp_path: Path, item: str, kind: str = "SweptSolid", extra: str = "", unit: str = "MILLIMETRE") -> Table:
    return read_models([write_model(tmp_path / "m.ifc", AXES + solid(item, kind) + extra, unit)], ReadSettings()).elements


def extruded(points: str, depth: float) -> str:
    return (f"#110=IFCCARTESIANPOINTLIST2D(({points}));\n#111=IFCINDEXEDPOLYCURVE(#110,$,.F.);\n"
            f"#112=IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,#111);\n#190=IFCEXTRUDEDAREASOLID(#112,#6,#101,{depth});")


def test_plate_along_its_thickness(tmp_path: Path) -> None:
    """1200 x 600, extruded 20: as drawn."""
    table = read(tmp_path, extruded("(0.,0.),(1200.,0.),(1200.,600.),(0.,600.),(0.,0.)", 20.0))
    assert table["thickness"][0] == pytest.approx(20.0)
    assert net_area(table["raw_outline"][0]) == pytest.approx(1200 * 600)


def test_plate_along_its_height(tmp_path: Path) -> None:
    """Profile 1200 x 20, extruded 600: the thickness lies in the profile."""
    table = read(tmp_path, extruded("(0.,0.),(1200.,0.),(1200.,20.),(0.,20.),(0.,0.)", 600.0))
    assert table["thickness"][0] == pytest.approx(20.0)
    assert net_area(table["raw_outline"][0]) == pytest.approx(1200 * 600)
    assert abs(table["raw_n"][0][1]) == pytest.approx(1.0)


def test_corners_on_a_straight_edge_are_no_corners(tmp_path: Path) -> None:
    table = read(tmp_path, extruded("(0.,0.),(400.,0.),(1200.,0.),(1200.,600.),(0.,600.),(0.,300.),(0.,0.)", 20.0))
    assert len(table["raw_outline"][0]) == 4


def test_ell_keeps_its_notch(tmp_path: Path) -> None:
    """1200 x 600 less a notch of 300 x 200."""
    table = read(tmp_path, extruded("(0.,0.),(1200.,0.),(1200.,400.),(900.,400.),(900.,600.),(0.,600.)", 20.0))
    assert len(table["raw_outline"][0]) == 6
    assert net_area(table["raw_outline"][0]) == pytest.approx(1200 * 600 - 300 * 200)


def test_round_hole(tmp_path: Path) -> None:
    """Circle of radius 100 in the profile: pi r^2 less than a hundredth of a percent of the plate off; no chord off by 0.05."""
    item = ("#110=IFCCARTESIANPOINTLIST2D(((0.,0.),(1200.,0.),(1200.,600.),(0.,600.)));\n#111=IFCINDEXEDPOLYCURVE(#110,$,.F.);\n"
            "#113=IFCCARTESIANPOINT((500.,300.));\n#114=IFCAXIS2PLACEMENT2D(#113,$);\n#115=IFCCIRCLE(#114,100.);\n"
            "#112=IFCARBITRARYPROFILEDEFWITHVOIDS(.AREA.,$,#111,(#115));\n#190=IFCEXTRUDEDAREASOLID(#112,#6,#101,20.);")
    table = read(tmp_path, item)
    outline = table["raw_outline"][0]
    assert net_area(outline) == pytest.approx(1200 * 600 - math.pi * 100**2, rel=1e-4)
    hole = split(outline)[1]
    middles = (hole + np.roll(hole, -1, axis=0)) / 2
    assert np.linalg.norm(middles - hole.mean(axis=0), axis=1).min() > 100 - 0.05


def test_opening_through_and_recess_that_is_none(tmp_path: Path) -> None:
    """An opening of 300 x 200 goes through; one of 5 mm depth in a plate of 20 is no cut-out."""
    def opening(number: int, x: float, z: float, depth: float) -> str:
        return (f"#{number}=IFCCARTESIANPOINT(({x},100.,{z}));\n#{number + 1}=IFCAXIS2PLACEMENT3D(#{number},$,$);\n"
                f"#{number + 2}=IFCLOCALPLACEMENT(#7,#{number + 1});\n#{number + 3}=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,300.,200.);\n"
                f"#{number + 4}=IFCEXTRUDEDAREASOLID(#{number + 3},#6,#101,{depth});\n"
                f"#{number + 5}=IFCSHAPEREPRESENTATION(#9,'Body','SweptSolid',(#{number + 4}));\n"
                f"#{number + 6}=IFCPRODUCTDEFINITIONSHAPE($,$,(#{number + 5}));\n"
                f"#{number + 7}=IFCOPENINGELEMENT('00000000000000000000{number % 100:02d}',$,'o',$,$,#{number + 2},#{number + 6},$,.OPENING.);\n"
                f"#{number + 8}=IFCRELVOIDSELEMENT('00000000000000000001{number % 100:02d}',$,$,$,#200,#{number + 7});\n")
    body = extruded("(0.,0.),(1200.,0.),(1200.,600.),(0.,600.)", 20.0)
    table = read(tmp_path, body, extra="\n" + opening(210, 400.0, -10.0, 40.0) + opening(230, 900.0, 15.0, 40.0))
    assert net_area(table["raw_outline"][0]) == pytest.approx(1200 * 600 - 300 * 200)
    assert table["thickness"][0] == pytest.approx(20.0)


def test_curved_plate(tmp_path: Path) -> None:
    """Concentric arcs of radius 2000 and 1980 over 40 degrees: chord 2 R sin 20, rise R (1 - cos 20), thickness 20."""
    def at(r: float, degrees: float) -> str:
        return f"({r * math.sin(math.radians(degrees)):.9f},{r * math.cos(math.radians(degrees)):.9f})"
    points = ",".join(at(r, a) for r, a in ((2000, -20), (2000, 0), (2000, 20), (1980, 20), (1980, 0), (1980, -20)))
    item = (f"#110=IFCCARTESIANPOINTLIST2D(({points}));\n"
            "#111=IFCINDEXEDPOLYCURVE(#110,(IFCARCINDEX((1,2,3)),IFCLINEINDEX((3,4)),IFCARCINDEX((4,5,6)),IFCLINEINDEX((6,1))),.F.);\n"
            "#112=IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,#111);\n#190=IFCEXTRUDEDAREASOLID(#112,#6,#101,1000.);")
    table = read(tmp_path, item)
    assert (table["form"][0], table["reason"][0]) == ("curved", "curved")
    assert table["thickness"][0] == pytest.approx(20.0, abs=0.1)
    radius = max((2000.0, 1980.0), key=lambda r: -abs(table["sagitta"][0] - r * (1 - math.cos(math.radians(20)))))
    assert table["sagitta"][0] == pytest.approx(radius * (1 - math.cos(math.radians(20))), abs=0.1)
    sides = sorted(np.ptp(table["raw_outline"][0][:, :2], axis=0))
    assert sides == pytest.approx([1000.0, 2 * radius * math.sin(math.radians(20))], abs=0.1)


def test_tapered_plate(tmp_path: Path) -> None:
    """A wedge profile 600 long, 20 thick at one end, 26 at the other."""
    table = read(tmp_path, extruded("(0.,0.),(600.,0.),(600.,26.),(0.,20.)", 900.0))
    assert table["form"][0] == "tapered"
    assert (table["thickness"][0], table["thickness_max"][0]) == pytest.approx((20.0, 26.0), abs=0.01)


def test_folded_plate(tmp_path: Path) -> None:
    """Two legs of 600 and 400 mm, 20 thick, at right angles."""
    table = read(tmp_path, extruded("(0.,0.),(600.,0.),(600.,20.),(20.,20.),(20.,400.),(0.,400.)", 900.0))
    assert (table["status"][0], table["form"][0]) == ("panel", "folded")
    assert table["thickness"][0] == pytest.approx(20.0)


def test_studs_behind_do_not_change_the_plate(tmp_path: Path) -> None:
    """A plate of 1200 x 600 x 20 with a block of 40 x 40 x 30 behind it, as one body: still the plate."""
    block = extruded("(500.,200.),(540.,200.),(540.,240.),(500.,240.)", -30.0)
    for old, new in (("#110", "#130"), ("#111", "#131"), ("#112", "#132"), ("#190", "#191")):
        block = block.replace(old, new)
    block = block.replace("-30.0", "30.0").replace("#6,#101", "#140,#141")
    block = "#142=IFCDIRECTION((0.,0.,-1.));\n#141=IFCDIRECTION((0.,0.,1.));\n#140=IFCAXIS2PLACEMENT3D(#5,#142,$);\n" + block.replace("(500.,200.),(540.,200.),(540.,240.),(500.,240.)", "(500.,-240.),(540.,-240.),(540.,-200.),(500.,-200.)")
    text = AXES + extruded("(0.,0.),(1200.,0.),(1200.,600.),(0.,600.)", 20.0) + "\n" + block + \
        "\n#198=IFCSHAPEREPRESENTATION(#9,'Body','SweptSolid',(#190,#191));\n#199=IFCPRODUCTDEFINITIONSHAPE($,$,(#198));"
    table = read_models([write_model(tmp_path / "m.ifc", text)]).elements
    assert table["status"][0] == "panel"
    assert table["thickness"][0] == pytest.approx(20.0)
    assert sorted(np.ptp(table["raw_outline"][0][:, :2], axis=0)) == pytest.approx([600.0, 1200.0])


def test_ribbed_plank_is_read_by_its_silhouette(tmp_path: Path) -> None:
    """A plank 165 high with two ribs of 10 mm behind a web of 3: least 3, greatest 13 thick, and marked as profiled."""
    ring = "(0.,0.),(165.,0.),(165.,13.),(155.,13.),(155.,3.),(10.,3.),(10.,13.),(0.,13.)"
    table = read(tmp_path, extruded(ring, 900.0))
    assert (table["form"][0], table["reason"][0]) == ("profiled", "profiled")
    assert (table["thickness"][0], table["thickness_max"][0]) == pytest.approx((3.0, 13.0))
    assert sorted(np.ptp(table["raw_outline"][0][:, :2], axis=0)) == pytest.approx([165.0, 900.0])


@pytest.mark.parametrize(("item", "state"), [
    (extruded("(0.,0.),(1200.,0.),(1200.,600.),(0.,600.)", 0.0), "zero-thickness"),
    (extruded("(0.,0.),(600.,0.),(1200.,0.),(0.,0.)", 20.0), "degenerate-geometry"),
    (extruded("(0.,0.),(1.E+300,0.),(1.E+300,600.),(0.,600.)", 20.0), "degenerate-geometry"),
])
def test_unreadable(tmp_path: Path, item: str, state: str) -> None:
    table = read(tmp_path, item)
    assert (table["status"][0], table["reason"][0]) == ("unreadable", state)
    assert np.isnan(table["thickness"][0])


def test_clipped_by_a_half_space(tmp_path: Path) -> None:
    """1200 x 600 cut at x = 900, the part beyond taken away (IfcHalfSpaceSolid, AgreementFlag false: the side of the normal)."""
    solid_part = extruded("(0.,0.),(1200.,0.),(1200.,600.),(0.,600.)", 20.0).replace("#190=", "#180=")
    item = (f"{solid_part}\n#120=IFCCARTESIANPOINT((900.,0.,0.));\n#121=IFCDIRECTION((1.,0.,0.));\n#122=IFCDIRECTION((0.,1.,0.));\n"
            "#123=IFCAXIS2PLACEMENT3D(#120,#121,#122);\n#124=IFCPLANE(#123);\n#125=IFCHALFSPACESOLID(#124,.F.);\n"
            "#190=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#180,#125);")
    table = read(tmp_path, item, "Clipping")
    assert net_area(table["raw_outline"][0]) == pytest.approx(900 * 600, rel=1e-6)


def mapped(axis1: str, axis2: str, axis3: str, scale: str = "1.", kind: str = "IFCCARTESIANTRANSFORMATIONOPERATOR3D", more: str = "") -> str:
    body = extruded("(0.,0.),(1200.,0.),(1200.,400.),(900.,400.),(900.,600.),(0.,600.)", 20.0).replace("#190=", "#180=")
    return (f"{body}\n#181=IFCSHAPEREPRESENTATION(#9,'Body','SweptSolid',(#180));\n#182=IFCREPRESENTATIONMAP(#6,#181);\n"
            f"#183=IFCDIRECTION({axis1});\n#184=IFCDIRECTION({axis2});\n#185=IFCDIRECTION({axis3});\n"
            f"#186={kind}(#183,#184,#5,{scale},#185{more});\n#190=IFCMAPPEDITEM(#182,#186);")


@pytest.mark.parametrize(("item", "sides", "thickness"), [
    (mapped("(1.,0.,0.)", "(0.,1.,0.)", "(0.,0.,1.)", "0.5"), (600.0, 300.0), 10.0),
    (mapped("(-1.,0.,0.)", "(0.,1.,0.)", "(0.,0.,1.)"), (1200.0, 600.0), 20.0),
    (mapped("(1.,0.,0.)", "(0.,1.,0.)", "(0.,0.,-1.)"), (1200.0, 600.0), 20.0),
    (mapped("(1.,0.,0.)", "(0.,1.,0.)", "(0.,0.,1.)", "1.", "IFCCARTESIANTRANSFORMATIONOPERATOR3DNONUNIFORM", ",2.,3."), (1200.0, 1200.0), 60.0),
])
def test_mapped_scaled_and_mirrored(tmp_path: Path, item: str, sides: tuple[float, float], thickness: float) -> None:
    """Scales 0.5; mirrored in x and in z; scales 1, 2, 3 along x, y, z."""
    table = read(tmp_path, item, "MappedRepresentation")
    assert sorted(np.ptp(table["raw_outline"][0][:, :2], axis=0)) == pytest.approx(sorted(sides))
    assert table["thickness"][0] == pytest.approx(thickness)
    frame = np.array([table[f"raw_{k}"][0] for k in "uvn"])
    assert np.linalg.det(frame) == pytest.approx(1.0)
    notch = 300 * 200 / (1200 * 600)
    assert net_area(table["raw_outline"][0]) == pytest.approx(sides[0] * sides[1] * (1 - notch))


def test_mirroring_flips_the_notch_to_the_other_side(tmp_path: Path) -> None:
    """The corner cut away lies at x = +1200 as drawn, at x = -1200 when mirrored."""
    for axis, sign in (("(1.,0.,0.)", 1.0), ("(-1.,0.,0.)", -1.0)):
        table = read(tmp_path, mapped(axis, "(0.,1.,0.)", "(0.,0.,1.)"), "MappedRepresentation")
        flat = table["raw_outline"][0]
        world = table["raw_origin"][0] + flat[:, :1] * table["raw_u"][0] + flat[:, 1:2] * table["raw_v"][0]
        corner = np.array([sign * 1200.0, 600.0])
        assert np.linalg.norm(world[:, :2] - corner, axis=1).min() > 190.0


def test_triangles_wound_at_random_and_points_repeated(tmp_path: Path) -> None:
    """A box of 1200 x 600 x 20 as triangles of their own corners, every other one turned: nothing but the plate matters."""
    corner = [(x, y, z) for z in (0, 20) for y in (0, 600) for x in (0, 1200)]
    quads = [(0, 1, 3, 2), (4, 5, 7, 6), (0, 1, 5, 4), (2, 3, 7, 6), (0, 2, 6, 4), (1, 3, 7, 5)]
    triangles = [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]
    points = [corner[i] for t in triangles for i in t]
    listed = ",".join(f"({x}.,{y}.,{z}.)" for x, y, z in points)
    index = ",".join(f"({3 * k + 1},{3 * k + 2},{3 * k + 3})" if k % 2 else f"({3 * k + 1},{3 * k + 3},{3 * k + 2})" for k in range(12))
    table = read(tmp_path, f"#110=IFCCARTESIANPOINTLIST3D(({listed}));\n#190=IFCTRIANGULATEDFACESET(#110,$,$,({index}),$);", "Tessellation")
    assert table["thickness"][0] == pytest.approx(20.0)
    assert len(table["raw_outline"][0]) == 4
    assert net_area(table["raw_outline"][0]) == pytest.approx(1200 * 600)


def test_two_solids_side_by_side_are_one_plate(tmp_path: Path) -> None:
    """700 x 600 and 500 x 600 that touch: 1200 x 600."""
    a = extruded("(0.,0.),(700.,0.),(700.,600.),(0.,600.)", 20.0)
    b = a.replace("#110", "#130").replace("#111", "#131").replace("#112", "#132").replace("#190", "#191").replace("(0.,0.)", "(700.,0.)") \
         .replace("(700.,0.),(700.,0.)", "(700.,0.),(1200.,0.)").replace("(700.,600.),(0.,600.)", "(1200.,600.),(700.,600.)")
    text = AXES + a + "\n" + b + "\n#198=IFCSHAPEREPRESENTATION(#9,'Body','SweptSolid',(#190,#191));\n#199=IFCPRODUCTDEFINITIONSHAPE($,$,(#198));"
    table = read_models([write_model(tmp_path / "m.ifc", text)]).elements
    assert table["status"][0] == "panel"
    assert net_area(table["raw_outline"][0]) == pytest.approx(1200 * 600)
    assert table["thickness"][0] == pytest.approx(20.0)


def test_coordinates_in_the_body_itself(tmp_path: Path) -> None:
    """5.8e9 mm in the profile: float64 still tells 1e-6 mm there, so the plate keeps its hundredths."""
    x = 5.8e9
    ring = ",".join(f"({x + dx:.3f},{dy:.3f})" for dx, dy in ((0, 0), (1200.25, 0), (1200.25, 600.125), (0, 600.125)))
    table = read(tmp_path, extruded(ring, 20.0))
    assert net_area(table["raw_outline"][0]) == pytest.approx(1200.25 * 600.125, rel=1e-6)
