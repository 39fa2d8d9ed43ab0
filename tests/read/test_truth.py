"""Models with known truth: the truth comes from how the models were laid out, never from the written file (their README)."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from tests.read.common import CASES, by_number, case, extents, net_area
from tests.shared import shared_models

MM = 0.2  # tolerance asked for widths, heights and thicknesses
AREA = 1e-3
DEGREES = 0.1
PLANTED = ("duplicate-guid", "material-missing", "no-geometry", "zero-thickness", "degenerate-geometry", "curved-panel", "tapered-panel")


def test_models_are_there() -> None:
    shared_models("truth")
    assert len(CASES) >= 17


@pytest.mark.parametrize("name", CASES)
def test_status_and_reason(name: str) -> None:
    read, rows, about = case(name)
    table, at = read.elements, by_number(read.elements)
    wrong = []
    for t in rows:
        row = at.get((t["file"], int(t["step_id"])))
        got = None if row is None else (table["status"][row], table["reason"][row])
        if got is None or got[0] != t["kind"] or (t["kind"] != "panel" and not got[1].startswith(t["reason"])):
            wrong.append((t["name"], got, t["kind"], t["reason"]))
    assert not wrong
    strangers = set(about["non_panels"])
    taken = [g for g, s in zip(table["guid"], table["status"], strict=True) if s == "panel" and g in strangers]
    assert not taken
    assert Counter(table["status"])["panel"] == sum(t["kind"] == "panel" for t in rows)


@pytest.mark.parametrize("name", CASES)
def test_sizes(name: str) -> None:
    read, rows, _ = case(name)
    table, at = read.elements, by_number(read.elements)
    for t in (t for t in rows if t["kind"] == "panel"):
        row = at[t["file"], int(t["step_id"])]
        width, height = extents(table, row)
        level = abs(float(t["nz"])) > 0.999
        got, want = ((sorted(p) if level else p) for p in ((width, height), (float(t["width_mm"]), float(t["height_mm"]))))
        assert got == pytest.approx(want, abs=MM), t["name"]
        assert table["thickness"][row] == pytest.approx(float(t["thickness_mm"]), abs=MM), t["name"]
        assert table["thickness_max"][row] == pytest.approx(float(t["thickness_max_mm"]), abs=MM), t["name"]
        if t["reason"] != "curved":
            assert net_area(table["raw_outline"][row]) == pytest.approx(float(t["net_area_m2"]) * 1e6, rel=AREA), t["name"]
        cosine = abs(float(table["raw_n"][row] @ [float(t[k]) for k in ("nx", "ny", "nz")]))
        assert np.degrees(np.arccos(min(cosine, 1.0))) < DEGREES, t["name"]


@pytest.mark.parametrize("name", CASES)
def test_one_of_the_two_faces_is_the_front(name: str) -> None:
    """The truth's centre of the front face lies in the plane of the face as read or of the one behind it."""
    read, rows, _ = case(name)
    table, at = read.elements, by_number(read.elements)
    for t in (t for t in rows if t["kind"] == "panel" and not t["reason"]):
        row = at[t["file"], int(t["step_id"])]
        centre = np.array([float(t[k]) * 1000 for k in ("cx_m", "cy_m", "cz_m")])
        depth = float((table["raw_origin"][row] - centre) @ table["raw_n"][row])
        assert min(abs(depth), abs(depth - table["thickness"][row])) < 2.0, t["name"]  # centres are given to 0.01 mm or 1 mm


@pytest.mark.parametrize("name", CASES)
def test_planted_faults(name: str) -> None:
    """All found, none invented."""
    read, _, about = case(name)
    found = Counter((i.rule, tuple(sorted({g for g in (i.guid, i.other_guid) if g}))) for i in read.issues if i.rule in PLANTED)
    planted = Counter((i["rule"], tuple(sorted(set(i["guids"])))) for i in about["issues"] if i["rule"] in PLANTED)
    assert set(found) == set(planted)


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_dropped(name: str) -> None:
    """Considered = panel + out_of_scope + unreadable, and every other element is counted by class."""
    read, _, _ = case(name)
    assert set(read.elements["status"]) <= {"panel", "out_of_scope", "unreadable"}
    for model in read.models:
        rows = int(np.sum(read.elements["model_index"] == model.model_index))
        assert rows + sum(model.other_counts.values()) == len(model.opened.file.by_type("IfcElement"))
    assert all(r for s, r in zip(read.elements["status"], read.elements["reason"], strict=True) if s != "panel")


def test_storeys_and_ground_as_stated() -> None:
    """c03: feet, and an empty basement that only the README names (json: storeys, ground_elevation_m)."""
    read, _, about = case("c03_imperial_mapped")
    model = read.models[0]
    assert [s.name for s in model.storeys[1:]] == [s["name"] for s in about["storeys"]]
    assert [s.elevation / 1000 for s in model.storeys[1:]] == pytest.approx([s["elevation_m"] for s in about["storeys"]], abs=1e-3)
    assert model.ground_storey / 1000 == pytest.approx(about["ground_elevation_m"], abs=1e-3)


def test_roles_of_what_stands_behind() -> None:
    """c13: rails, brackets and pipes by class and name (README: a file of rails)."""
    read, _, _ = case("c13_federated")
    assert Counter(read.obstacles["role"]) == {"rail": 13, "bracket": 7, "slab": 3, "service": 3, "frame": 2}
    assert (read.obstacles["triangles"].lengths > 0).all()
