"""Items, lengths and depths.  Worked cases by hand (docs/method/hardware.md); practice: common practice, no source."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table
from bimcheck.hardware.catalogue import catalogue, read_items
from bimcheck.hardware.choose import Limits, bolt_length, choose, hole_depth, invented
from bimcheck.hardware.drilling import conflict
from bimcheck.hardware.lengths import back_off, bolt_window, counterbore_depth, longest_in, missing, stack_worst_case
from bimcheck.hardware.settings import Catalogue, Item
from tests.shared import ROOT

DEEP = Item(materials=["granite"], thickness_min_mm=27, embedment_mm=15, hole_diameter_mm=11, undercut_radius_mm=6.5,
            residual_mm=9, edge_mm=50, spacing_mm=120, fastener="set-screw", clip_wall_mm=4, thread_engagement_mm=6)
FLAT = Item(materials=["granite"], thickness_min_mm=18, embedment_mm=10, hole_diameter_mm=9, undercut_radius_mm=5.3,
            residual_mm=6, edge_mm=50, spacing_mm=100, clip_wall_mm=3)
ITEMS = {"demo-flat": FLAT, "demo-deep": DEEP}


def panels(t_min: list[float], **columns) -> Table:
    n = len(t_min)
    t = np.array(t_min, dtype=float)
    base = {"material": "granite", "face": "gauged", "lot": "L1"}
    text = {k: np.array(np.broadcast_to(np.array(columns.pop(k, v), dtype=object), n)) for k, v in base.items()}
    numbers = {"t_min": t, "t_max": t * 1.1, "thickness": t * 1.05, "measured": np.zeros(n, dtype=bool)}
    return Table("panels", n, {**numbers, **text, **columns})


def measured(t: list[float], **columns) -> Table:
    """Polished ungauged stone, measured: one reading a panel."""
    return panels(t, t_max=np.array(t, dtype=float), measured=np.ones(len(t), dtype=bool), face="polished-ungauged", **columns)


def test_bolt_by_hand() -> None:
    """Hole 11.0, wall 3.0, washer 0.5, thread 4.0, room 0.3, tolerances 0.4 + 0.1: 8.0 <= l <= 13.7; steps of 1.5: 13.5."""
    assert bolt_window(11.0, 3.5, 4.0, 0.3, (0.4, 0.1)) == pytest.approx((8.0, 13.7))
    assert bolt_length(FLAT, Limits()) == 13.5


def test_set_screw_by_hand() -> None:
    """Hole 16, wall 4, washer 0.5, nut 5, backed off a quarter turn of 1.0 mm: l <= 9.5 + 16 - 0.25 - 0.5 = 24.75; 24.0."""
    assert bolt_length(DEEP, Limits()) == 24.0
    assert back_off(0.5, 1.0) == 0.5


def test_lengths_on_offer() -> None:
    assert longest_in((8.0, 13.7), 1.5, [6, 12, 14]) == 12
    assert np.isnan(longest_in((8.0, 8.4), 1.5))
    assert missing((8.0, 8.4), 1.5) == pytest.approx(0.5)  # 7.5 is 0.5 short, 9.0 is 0.6 long
    assert missing((8.0, 13.7), 1.5, [20.0]) == pytest.approx(6.3)
    assert missing((8.0, 13.7), 1.5) == 0.0
    assert missing((9.0, 8.0), 1.5) >= 1.0  # no length at all can do both


@settings(max_examples=60, deadline=None)
@given(depth=st.floats(5, 30), outside=st.floats(2, 12), thread=st.floats(2, 8), room=st.floats(0, 1),
       tolerances=st.lists(st.floats(0, 0.6), min_size=1, max_size=3), share=st.lists(st.floats(-1, 1), min_size=3, max_size=3))
def test_a_bolt_never_bottoms_and_always_engages(depth, outside, thread, room, tolerances, share) -> None:
    """For any real depth and clip within their tolerances."""
    length = longest_in(bolt_window(depth, outside, thread, room, tolerances), 1.5)
    if np.isnan(length):
        return
    off = sum(t * s for t, s in zip(tolerances, share, strict=False))
    assert length - outside <= depth - room - off + 1e-9
    assert length - outside + off >= thread - 1e-9
    assert length / 1.5 == pytest.approx(round(length / 1.5))


@settings(max_examples=40, deadline=None)
@given(t=st.lists(st.floats(15, 60), min_size=1, max_size=6))
def test_residual_is_kept_where_an_item_fits(t: list[float]) -> None:
    done = choose(panels(t), ITEMS, Limits())
    fits = done["hardware_reason"] == ""
    left = done["t_min"] - done["counterbore"] - done["hole_depth"] - 0.4  # the deepest hole
    assert (left[fits] >= done["residual_required"][fits] - 1e-9).all()
    assert (~fits[np.array(t) < 18]).all()


def test_the_deepest_item_that_fits_is_taken() -> None:
    done = choose(panels([28.5, 19.0, 26.0]), ITEMS, Limits())
    assert done["item"].tolist() == ["demo-deep", "demo-flat", "demo-flat"]
    assert done["embedment"].tolist() == [15, 10, 10]
    assert done["hole_depth"].tolist() == [16, 11, 11]
    assert (done["hardware_reason"] == "").all()


def test_the_reason_names_dimension_and_amount() -> None:
    thin, glass, unknown = choose(panels([16.5, 30.0, np.nan], material=["granite", "slate", "granite"]), ITEMS, Limits())["hardware_reason"]
    assert thin == "no item fits, nearest demo-flat: panel too thin by 1.5 mm"
    assert "not for this material" in glass
    assert "thickness not known" in unknown  # nan never fits


def test_a_bolt_does_not_take_a_thick_clip() -> None:
    thick = FLAT.model_copy(update={"clip_wall_mm": 4.0})
    reason = choose(panels([20.0]), {"demo-thick": thick}, Limits())["hardware_reason"][0]
    assert "clip wall too thick for a bolt by 0.8 mm" in reason


def test_a_set_screw_is_for_walls_of_4_to_5_mm() -> None:
    assert choose(panels([30.0]), {"demo": DEEP.model_copy(update={"clip_wall_mm": 5.0})}, Limits())["hardware_reason"][0] == ""
    reason = choose(panels([30.0]), {"demo": DEEP.model_copy(update={"clip_wall_mm": 6.0})}, Limits())["hardware_reason"][0]
    assert "clip wall too thick for a set-screw by 0.8 mm" in reason


@settings(max_examples=80, deadline=None)
@given(screw=st.booleans(), embedment=st.floats(4, 25), wall=st.floats(2.5, 5.2), thread=st.floats(3, 7), pitch=st.floats(0.5, 1.5),
       off=st.tuples(st.floats(-1, 1), st.floats(-1, 1)))
def test_every_fastener_of_every_item_ends_in_its_thread(screw, embedment, wall, thread, pitch, off) -> None:
    """Put together by hand from the parts, each anywhere within its tolerance: what is left below, and what is engaged."""
    item = FLAT.model_copy(update=dict(fastener="set-screw" if screw else "bolt", embedment_mm=embedment, clip_wall_mm=wall, thread_engagement_mm=thread, thread_pitch_mm=pitch))
    length = bolt_length(item, Limits())
    if np.isnan(length):
        return
    hole = embedment + item.below_undercut_mm + 0.4 * off[0]
    inside = length - (wall + 0.1 * off[1]) - item.washer_mm - (item.nut_mm if screw else 0.0)
    assert hole - inside >= (0.25 * pitch if screw else 0.3) - 1e-9
    assert inside >= thread - 1e-9


def test_counterbore_brings_panels_down_to_the_thinnest_of_their_lot() -> None:
    """Polished ungauged: t - t_min of the lot, embedment and residual alike; gauged panels get none."""
    stone = measured([28.0, 29.5, 31.0, 33.0], lot=["A", "A", "B", "A"])
    done = choose(stone, ITEMS, Limits(counterbore_max=4.0))
    np.testing.assert_allclose(done["counterbore"], [0, 1.5, 0, 5.0])
    assert "counterbore too deep by 1.0 mm" in done["hardware_reason"][3]
    left = done["t_min"] - done["counterbore"] - done["hole_depth"]
    np.testing.assert_allclose(left[[0, 1, 3]], 12.0)
    np.testing.assert_allclose(choose(panels([28.0, 29.5]), ITEMS, Limits())["counterbore"], 0)
    np.testing.assert_allclose(counterbore_depth(np.array([np.nan]), np.array([28.0]), np.array([True])), 0)


def test_drilling_data_name_the_face_and_the_set_up() -> None:
    """Lot from 28.0, hole 16.0: the hole ends 12.0 mm behind the front face in every panel."""
    first, second = choose(measured([28.0, 29.5]), ITEMS, Limits(), "clamped from the front", "table")["drilling"]
    assert first == "depth from the front face, hole ends 12.0 mm behind it (lot from 28.0 mm); clamped from the front; table"
    assert second.startswith("depth from the front face, hole ends 12.0 mm behind it (lot from 28.0 mm), recess 1.5 mm; ")
    assert choose(panels([28.0]), ITEMS, Limits())["drilling"][0] == "depth from the rear face"


def test_a_lot_without_measurements_states_what_its_tolerance_allows() -> None:
    """Nominal 30 +-10 %: 27 to 33, so a recess of up to 6.0 mm, which only sorting brings below 4; strength counts with 27."""
    done = choose(panels([27.0], t_max=np.array([33.0]), face="polished-ungauged"), ITEMS, Limits())
    assert done["hardware_reason"][0] == ""
    assert done["counterbore"][0] == 0 and np.isnan(done["counterbore_set"][0])
    assert done["counterbore_most"][0] == pytest.approx(6.0)
    assert "on site by measured thickness, 0 to 6.0 mm" in done["drilling"][0]
    assert "none is more than 4 mm thicker" in done["drilling"][0]


def test_several_readings_of_a_panel_state_a_range() -> None:
    stone = measured([28.0, 29.0]).with_columns(t_max=np.array([28.0, 30.2]))
    done = choose(stone, ITEMS, Limits())
    np.testing.assert_allclose(done["counterbore"], [0, 1.0])
    np.testing.assert_allclose(done["counterbore_set"], [0, 2.2])
    assert "recess 1.0 to 2.2 mm as the thickness at the hole" in done["drilling"][1]


@settings(max_examples=40, deadline=None)
@given(t=st.lists(st.floats(28, 31.9), min_size=1, max_size=8))
def test_embedment_and_residual_are_the_same_all_over_a_lot(t: list[float]) -> None:
    done = choose(measured(t), ITEMS, Limits())
    left = done["t_min"] - done["counterbore"] - done["hole_depth"]
    np.testing.assert_allclose(left, min(t) - 16.0)
    assert (done["embedment"] == 15).all() and (done["hardware_reason"] == "").all()


def test_the_project_may_ask_for_more_material_than_the_item() -> None:
    """28.0 - 16.0 - 0.4 = 11.6 mm in front of the hole."""
    assert choose(panels([28.0]), {"demo-deep": DEEP}, Limits(residual=11.6))["hardware_reason"][0] == ""
    assert "residual too small by 0.4 mm" in choose(panels([28.0]), {"demo-deep": DEEP}, Limits(residual=12.0))["hardware_reason"][0]


@pytest.mark.parametrize(("face", "set_up", "said"), [
    ("gauged", "vacuum on the rear", ""), ("polished-ungauged", "clamped from the front", ""), ("gauged", "", ""),
    ("polished-ungauged", "vacuum on the rear", "front face"), ("rough", "clamped from the front", "rear face")])
def test_a_set_up_that_references_the_other_face_is_cautioned(face: str, set_up: str, said: str) -> None:
    assert said in conflict(face, set_up) and bool(conflict(face, set_up)) == bool(said)


def test_demo_items_have_a_length_and_leave_material() -> None:
    """Every invented item works at its own least thickness."""
    for name, item in invented().items():
        assert name.startswith("demo-")
        assert np.isfinite(bolt_length(item, Limits())), name
        assert item.thickness_min_mm - hole_depth(item) - 0.4 >= item.residual_mm - 1e-9, name


def test_worst_case_stack() -> None:
    assert stack_worst_case([0.4, 0.1, 0.2]) == pytest.approx(0.7)


def test_catalogue_as_csv(tmp_path: Path) -> None:
    file = tmp_path / "items.csv"
    file.write_text("name,materials,thickness_min_mm,embedment_mm,hole_diameter_mm,undercut_radius_mm,edge_mm,spacing_mm,bolt_lengths_mm\n"
                    "demo-a,granite lime*,18,10,9,5.3,50,100,12 13.5\ndemo-b,,27,15,11,6.5,50,120,\n")
    items = read_items(file)
    assert list(items) == ["demo-a", "demo-b"]
    assert items["demo-a"].materials == ["granite", "lime*"]
    assert items["demo-a"].bolt_lengths_mm == [12, 13.5]
    assert items["demo-b"].materials == ["*"]


def test_catalogue_from_a_table_of_another_country(tmp_path: Path) -> None:
    file = tmp_path / "items.csv"
    file.write_text("Name;thickness_min_mm;embedment_mm;hole_diameter_mm;undercut_radius_mm;edge_mm;spacing_mm\ndemo-a;18,5;10;9;5,3;50;100\n")
    assert read_items(file)["demo-a"].thickness_min_mm == 18.5 and read_items(file)["demo-a"].undercut_radius_mm == 5.3


def test_an_item_stands_in_one_place(tmp_path: Path) -> None:
    files = Catalogue(items_csv=str(ROOT / "docs" / "examples" / "items.csv"))
    both, own = catalogue({"mine": FLAT}, files)
    assert own and list(both) == ["mine", "invented-11", "invented-16-screw"]
    assert all(np.isfinite(bolt_length(item, Limits())) for item in both.values())
    with pytest.raises(InputError, match="invented-11"):
        catalogue({"invented-11": FLAT}, files)
    assert catalogue({}, Catalogue()) == (invented(), False)


@pytest.mark.parametrize(("text", "what"), [
    ("name,depth\na,1\n", "depth"), ("name,thickness_min_mm\na,18\na,20\n", "embedment_mm"), ("name\n", "no row"),
    ("name,thickness_min_mm\n,18\n", "missing or stands twice")])
def test_bad_catalogues_are_refused(tmp_path: Path, text: str, what: str) -> None:
    file = tmp_path / "items.csv"
    file.write_text(text)
    with pytest.raises(InputError, match=what):
        read_items(file)
