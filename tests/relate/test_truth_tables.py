"""relate alone on the truth of the models: every row's frame, place along the facade, joints and what stands behind.

Tolerances are the ones the truth is stated for: 0.2 mm, 0.1 % of area, 0.1 degrees, 2 mm in height and to the corner.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bimcheck.relate.facts import Related
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate
from tests.relate.truthcase import Case, load, number
from tests.shared import SHARED, shared_models

NAMES = sorted(p.stem for p in (SHARED / "models" / "truth").glob("*.json"))
pytestmark = pytest.mark.skipif(not NAMES, reason="needs the models with known truth next to the project")


def done(name: str, *, bodies: bool = False, seed: int = 1) -> tuple[Case, Related]:
    case = load(Path(shared_models("truth")), name, bodies=bodies, seed=seed)
    return case, relate(case.elements, case.obstacles, case.site, Relate())


def column(case: Case, key: str) -> np.ndarray:
    return np.array([number(r[key]) for r in case.truth])


def worst(got: np.ndarray, truth: np.ndarray) -> float:
    """Greatest difference where the truth says something; infinite where we say nothing."""
    there = np.isfinite(truth)
    return float(np.where(np.isfinite(got[there]), np.abs(got[there] - truth[there]), np.inf).max(initial=0.0))


# Files without the side that the others leave open, and soffits fixed to a slab, need the bodies too.
@pytest.mark.parametrize(("name", "bodies"), [(n, n.startswith(("c12", "c13"))) for n in NAMES])
def test_rows(name: str, bodies: bool) -> None:
    case, got = done(name, bodies=bodies)
    e = got.elements
    readable = np.array([r["kind"] != "unreadable" for r in case.truth])
    assert e["side_known"][readable].all() and np.isnan(e["width"][~readable]).all()
    assert worst(e["width"], column(case, "width_mm")) <= 0.2
    assert worst(e["height"], column(case, "height_mm")) <= 0.2
    flat = np.array([r["reason"] != "curved" for r in case.truth])  # curved: the truth states the developed area
    assert worst((e["net_area"] / column(case, "net_area_m2") / 1e6)[flat & readable], np.ones((flat & readable).sum())) <= 1e-3
    normal = np.column_stack([column(case, k) for k in ("nx", "ny", "nz")])[readable]
    assert np.degrees(np.arccos(np.clip(np.sum(e["n"][readable] * normal, axis=1), -1, 1))).max() <= 0.1
    assert worst(e["z"] / 1000, column(case, "z_centre_m")) <= 0.002
    assert worst(e["corner_distance"] / 1000, column(case, "dist_corner_m")) <= 0.002
    assert worst(e["s_left"] / 1000, column(case, "dist_left_end_m")) <= 0.002
    assert worst(e["s_right"] / 1000, column(case, "dist_right_end_m")) <= 0.002


@pytest.mark.parametrize("name", NAMES)
def test_joints(name: str) -> None:
    case, got = done(name, seed=2)
    for side in ("left", "right", "bottom", "top"):
        assert worst(got.elements[f"joint_{side}"], column(case, f"joint_{side}_mm")) <= 0.2, side
    planted = {frozenset(i["guids"]): i.get("joint_mm", i.get("overlap_mm")) for i in case.facts["issues"]
               if i["rule"] in ("joint-width", "panel-overlap")}
    j, guid = got.joints, got.elements["guid"]
    narrow = j["gap"] < case.facts["thresholds"]["joint_mm"]
    found = {frozenset((guid[p], guid[o])): abs(g) for p, o, g in
             zip(j["panel"][narrow], j["other"][narrow], j["gap"][narrow], strict=True)}
    assert found.keys() == planted.keys()
    assert all(abs(found[k] - planted[k]) <= 0.2 for k in planted)


@pytest.mark.parametrize("name", NAMES)
def test_building_and_facades(name: str) -> None:
    case, got = done(name, bodies=name.startswith("c13"))
    e, f = got.elements, got.facades
    assert got.building.h == pytest.approx(case.facts["h_m"] * 1000, abs=1.0) and got.building.known
    stated = {x["id"]: x for x in case.facts["facades"]}
    pairs = {(r["facade"], int(k)) for r, k in zip(case.truth, e["facade_index"], strict=True) if k >= 0}
    assert len(pairs) == len({a for a, _ in pairs}) == len({b for _, b in pairs})  # the same partition
    for name_there, k in pairs:
        t = stated[name_there]
        assert (f["facade_left"][k].replace("-", ""), f["facade_right"][k].replace("-", "")) == (t["left_corner"], t["right_corner"])
        assert f["facade_length"][k] / 1000 == pytest.approx(t["length_m"], abs=0.002)
        assert (f["facade_b"][k] / 1000, f["facade_d"][k] / 1000) == pytest.approx((t["b_m"], t["d_m"]), abs=0.002)
        assert np.allclose(f["facade_n"][k], t["normal"], atol=1e-3)


@pytest.mark.parametrize("name", [n for n in NAMES if n.startswith("c13")])
def test_bodies_behind(name: str) -> None:
    """Places within 0.2 mm; depths within 0.5 mm: round bodies are read as polygons."""
    case, got = done(name, bodies=True)
    b, guid, other = got.behind, got.elements["guid"], case.obstacles["guid"]
    near = np.flatnonzero((b["near"] < case.facts["thresholds"]["zone_behind_mm"]) & ~b["edge_on"])
    found = {(guid[b["panel"][k]], other[b["obstacle"][k]]): k for k in near}
    planted = {tuple(i["guids"]): i for i in case.facts["issues"] if i["rule"] == "behind-panel"}
    assert found.keys() == planted.keys()
    for pair, issue in planted.items():
        k = found[pair]
        assert (b["x0"][k], b["x1"][k], b["y0"][k], b["y1"][k]) == pytest.approx((*issue["x_mm"], *issue["y_mm"]), abs=0.2)
        assert (b["near"][k], b["depth"][k]) == pytest.approx((issue["gap_mm"], issue["obstacle_depth_mm"]), abs=0.5)
