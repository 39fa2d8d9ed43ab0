"""Outputs for the shop and the substructure: views, the curve of sharing, and runs with nothing to write."""

from __future__ import annotations

from xml.etree import ElementTree

import numpy as np
import pytest

from bimcheck.core.tables import Ragged, Table
from bimcheck.result import Result
from bimcheck.write import drilling_drawings, fabrication, standardisation, substructure
from bimcheck.write.drilling_drawings import drawings, rear

ELL = np.array([[0, 0, 0], [900, 0, 0], [900, 350, 0], [400, 350, 0], [400, 800, 0], [0, 800, 0]], dtype=float)


def tables(outline: np.ndarray, x: list[float], y: list[float]) -> dict[str, Table]:
    """One panel that passes, with holes at x (seen from outside), y."""
    n, width = len(x), float(outline[:, 0].max())
    text = dict(material="granite", surface="", face="gauged", item="demo", fastener="bolt", thread="M6", drilling="depth from the rear face, 10.0 mm",
                drill_mark="ABC234", mark="=P-01", name="", guid="g", model="m", storey="", facade="", lot="", result="pass", reason="", governing_check="",
                way_out="", w_basis="characteristic")
    number = dict(width=width, height=float(outline[:, 1].max()), thickness=30.0, hole_diameter=11.0, undercut_radius=6.5, embedment=15.0, hole_depth=16.0,
                  residual_required=9.0, counterbore_set=0.0, counterbore_most=0.0, bolt_length=24.0, washer=0.5, clip_wall=4.0, mass=50.0, t_min=27.0, t_max=33.0,
                  utilisation=0.5)
    panels = Table("panels", 1, {**{k: np.array([v], dtype=object) for k, v in text.items()}, **{k: np.array([v]) for k, v in number.items()},
                                 "measured": np.array([False]), "n_anchors_selected": np.array([n]), "outline": Ragged.of([outline], (3,))})
    anchors = Table("anchors", n, {"candidate": np.zeros(n, dtype=np.int64), "slot": np.arange(1, n + 1), "x_rear": width - np.array(x), "y": np.array(y),
                                   "edge": np.full(n, 100.0), "role": np.full(n, "free", dtype=object), "hangs": np.zeros(n, dtype=bool)})
    return {"panels": panels, "anchors": anchors, "candidates": Table("candidates", 1, {"panel": np.array([0])})}


def test_seen_twice_from_the_rear_is_the_front() -> None:
    points = np.array([[10.0, 20.0], [870.0, 700.0]])
    np.testing.assert_allclose(rear(rear(points, 900.0), 900.0), points)
    np.testing.assert_allclose(rear(points, 900.0)[0], [890.0, 20.0])


def test_an_asymmetric_panel_differs_between_its_views() -> None:
    """An L that is cut out at the upper right seen from outside has its notch at the upper left seen from the rear."""
    svg = drawings(tables(ELL, [100.0, 700.0], [100.0, 200.0]))["ABC234"]
    paths = [e.attrib["d"] for e in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}path") if e.attrib.get("fill") == "#eef3f7"]
    back, front = ([[float(c) for c in p.strip("ML Z").split()] for p in d.replace("Z", "").split("L")] for d in paths)
    top = [min(p[1] for p in ring) for ring in (back, front)]
    at_top = [[p[0] for p in ring if p[1] == t] for ring, t in zip((back, front), top, strict=True)]
    middle = [(min(p[0] for p in ring) + max(p[0] for p in ring)) / 2 for ring in (back, front)]
    assert max(at_top[0]) > middle[0] and min(at_top[0]) > min(p[0] for p in back)  # what is high stands on the right
    assert min(at_top[1]) < middle[1] and max(at_top[1]) < max(p[0] for p in front)


def test_figures_and_sentences_are_in_the_units_asked_for() -> None:
    """11.0 mm = 0.433 in, 900 mm = 35.433 in, 10.0 mm = 0.394 in (1 in = 25.4 mm)."""
    svg = drawings(tables(ELL, [100.0, 700.0], [100.0, 200.0]), "us")["ABC234"]
    assert "35.433" in svg and "hole diameter 0.433" in svg and "0.394 in" in svg and "mm" not in svg


TABLE = Table("standardisation", 3, {
    "sharing": np.array(["each panel its own", "0 %", "5 %"], dtype=object), "cost": np.array([np.nan, 0.0, 0.05]), "chosen": np.array([False, False, True]),
    "layouts": np.array([12, 10, 7]), "marks": np.array([9, 8, 6]), "anchors": np.array([400, 400, 412]), "u_mean": np.array([0.8, 0.8, 0.77]), "u_max": np.array([1.0, 1.0, 0.99])})


def test_the_curve_says_what_sharing_costs_and_saves() -> None:
    assert standardisation.told(TABLE) == "9 drilling marks become 6, 400 anchors become 412; mean utilisation 0.80 and 0.77"
    root = ElementTree.fromstring(standardisation.curve(TABLE))
    circles = list(root.iter("{http://www.w3.org/2000/svg}circle"))
    at = [(float(c.attrib["cx"]), float(c.attrib["cy"])) for c in circles]
    assert len(at) == 3 and sum(c.attrib["fill"] != "#ffffff" for c in circles) == 1
    assert at[0][1] < at[1][1] < at[2][1] and at[2][0] > at[1][0] == at[0][0]  # fewer marks lie lower, more anchors to the right


@pytest.mark.parametrize("writer", [fabrication.write, drilling_drawings.write, standardisation.write, substructure.write])
def test_a_run_without_anchors_writes_what_there_is(writer, tmp_path) -> None:
    one = tables(ELL, [], [])
    panels = one["panels"].with_columns(drill_mark=np.array([""], dtype=object), result=np.array(["not_checked"], dtype=object))
    blank = Table("standardisation", 1, {k: TABLE[k][:1] if TABLE[k].dtype == object else TABLE[k][:1] * 0 for k in TABLE})
    nothing = Table("support_reactions", 0, {f.name: np.empty(0, dtype=object if f.look in ("text", "unit") else float) for f in substructure.FIELDS})
    files = writer(Result({**one, "panels": panels, "standardisation": blank, "support_reactions": nothing}), tmp_path)
    assert all(f.is_file() and f.stat().st_size for f in files)
