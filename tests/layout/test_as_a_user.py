"""Layout, hardware and what the shop gets, as a user runs them on the small bundled sample."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable, Sequence
from pathlib import Path

import ifcopenshell
import numpy as np
import openpyxl
import pytest

import bimcheck
from bimcheck.cli import main
from tests.layout.author_model import with_pins
from tests.shared import ROOT

SAMPLE = ROOT / "sample_models" / "small_podium_metre.ifc"
Rows = list[dict[str, str]]


@pytest.fixture(scope="module", autouse=True)
def _cache(tmp_path_factory: pytest.TempPathFactory) -> None:
    os.environ["BIMCHECK_CACHE_DIR"] = str(tmp_path_factory.mktemp("cache"))


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("project") / "project.toml"
    assert main(["init", "--invented", "-o", str(path)]) == 0
    return path.read_text()


@pytest.fixture(scope="module")
def free(text: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return run(tmp_path_factory.mktemp("free"), text)


def run(folder: Path, text: str, model: Path = SAMPLE, status: Sequence[int] = (0, 1), **changes: str) -> Path:
    """Run with lines of the project file changed; the folder of the results."""
    for key, value in changes.items():
        before = next(line for line in text.splitlines() if line.startswith(f"{key} = "))
        text = text.replace(f"\n{before}\n", f"\n{key} = {value}\n")
    (folder / "project.toml").write_text(text)
    assert main(["run", str(model), "-p", str(folder / "project.toml"), "-o", str(folder / "out"), "--quiet"]) in status
    return folder / "out"


def rows(path: Path) -> Rows:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def positions(out: Path) -> dict[str, list[tuple[float, float]]]:
    found: dict[str, list[tuple[float, float]]] = {}
    for r in rows(out / "anchors.csv"):
        found.setdefault(r["panel_guid"], []).append((float(r["x_rear_mm"]), float(r["y_mm"])))
    return found


def test_what_is_listed_stays_and_is_checked_again(free: Path, text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Odd positions for one panel, 10 mm from the edge for another; the path counts from the project file."""
    monkeypatch.chdir("/")
    odd, near, *others = positions(free)
    at = {odd: [(211.5, 203), (1377, 201), (220, 700.5), (1400, 733)], near: [(10, 300), (1400, 300), (300, 700), (1400, 700)]}
    (tmp_path / "lists").mkdir()
    (tmp_path / "lists" / "drilled.csv").write_text("panel_guid;x_rear_mm;y_mm\n" + "".join(
        f"{g};{str(x).replace('.', ',')};{y}\n" for g, points in at.items() for x, y in points))
    out = run(tmp_path, text, keep='"lists/drilled.csv"')
    assert all(set(positions(out)[g]) == set(at[g]) for g in at)
    result = {r["guid"]: r for r in rows(out / "panels.csv")}
    assert result[near]["result"] == "fail" and float(result[near]["u_edge"]) == pytest.approx(5.0)  # 50 mm asked for
    assert all(positions(out)[g] == positions(free)[g] for g in others)
    said = [r["text"] for r in rows(out / "issues.csv") if r["rule"] == "kept-anchors"]
    assert len(said) == 1 and said[0].startswith(f"{len(others)} panels have no positions in the list")


@pytest.mark.parametrize(("content", "said"), [
    (None, "drilled.csv"), ("panel_guid,x_rear_mm\na,1\n", "no column y_mm"), ("panel_guid,x_rear_mm,y_mm\nnone-such,1,2\n", "none-such: not among the panels")])
def test_bad_lists_are_one_line_and_status_2(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], content: str | None, said: str) -> None:
    if content is not None:
        (tmp_path / "drilled.csv").write_text(content)
    run(tmp_path, text, status=(2,), keep='"drilled.csv"')
    lines = [line for line in capsys.readouterr().err.splitlines() if line]
    assert len(lines) == 1 and said in lines[0]


def _pins(free: Path, guids: Sequence[str], name: str = "IfcMechanicalFastener") -> list[tuple[list[float], list[float], str]]:
    normals = {r["guid"]: [float(r[f"normal_{k}"]) for k in "xyz"] for r in rows(free / "panels.csv") if r["guid"] in guids}
    return [([float(r[f"w{k}_m"]) for k in "xyz"], normals[r["panel_guid"]], name) for r in rows(free / "anchors.csv") if r["panel_guid"] in normals]


def test_the_authors_fasteners_are_kept_where_they_are(free: Path, text: str, tmp_path: Path) -> None:
    """Pins at the anchors of a free run, moved 7 mm sideways so that no search would find them; accessories; and doubts."""
    pinned, clipped, doubtful, bare, *_ = positions(free)
    shifted = [((np.array(p) + 0.007 * np.cross([0, 0, 1.0], n)).tolist(), n, c) for p, n, c in _pins(free, [pinned])]
    beside = _pins(free, [doubtful])
    beside.append((np.add(beside[0][0], [0, 0, 0.008]).tolist(), *beside[0][1:]))
    model = with_pins(SAMPLE, tmp_path / "model.ifc", [*shifted, *_pins(free, [clipped], "IfcDiscreteAccessory"), *beside])
    out = run(tmp_path, text, model, keep='"author"')
    before, after = positions(free), positions(out)
    # u points to the right seen from outside, so that x seen from the rear falls by 7 mm.
    np.testing.assert_allclose(after[pinned], np.array(before[pinned]) - [7.0, 0.0], atol=1e-3)
    np.testing.assert_allclose(after[clipped], before[clipped], atol=1e-3)
    assert after[bare] == before[bare] and doubtful not in after
    result = {r["guid"]: r for r in rows(out / "panels.csv")}
    assert result[doubtful]["result"] == "not_checked" and result[doubtful]["reason"].startswith("kept-anchors: fasteners nearer than 15 mm")
    assert result[pinned]["result"] == "pass"
    issues = rows(out / "issues.csv")
    assert [r["guid"] for r in issues if r["rule"] == "kept-anchors" and r["severity"] == "warning"] == [doubtful]
    assert not [r for r in issues if r["rule"] in ("fastener-in-zone", "anchor-clash") and r["guid"] in (pinned, clipped)]


def test_a_fastener_through_the_front_is_no_concealed_anchor(free: Path, text: str, tmp_path: Path) -> None:
    first = next(iter(positions(free)))
    model = with_pins(SAMPLE, tmp_path / "model.ifc", _pins(free, [first]), deep=60.0)
    result = {r["guid"]: r for r in rows(run(tmp_path, text, model, keep='"author"') / "panels.csv")}
    assert "comes through the front face" in result[first]["reason"]


def test_measured_thickness_sets_recess_lot_and_strength(free: Path, text: str, tmp_path: Path) -> None:
    """Lot A: 28.2 and 29.7 mm, by hand: recess 0 and 1.5, the hole ends 28.2 - 16 = 12.2 mm behind the front in both."""
    thin, thick, *others = [r["guid"] for r in rows(free / "panels.csv") if r["material"] == "granite" and r["result"] == "pass"]
    (tmp_path / "t.csv").write_text(f"guid,lot,t_mm\n{thin},A,28.2\n{thin},A,28.2\n{thick},A,29.7\n")
    out = run(tmp_path, text, measured='"t.csv"', set_up='"clamped from the front"', machine='"table"')
    panels = bimcheck.load(out).tables["panels"]
    at = {g: i for i, g in enumerate(panels["guid"].tolist())}
    two = [at[thin], at[thick]]
    np.testing.assert_allclose(panels["counterbore_set"][two], [0.0, 1.5], atol=1e-9)
    np.testing.assert_allclose(panels["t_bending"][two], 28.2)
    np.testing.assert_allclose(panels["t_bending"][two] - panels["hole_depth"][two], 12.2)
    assert panels["lot"][two].tolist() == ["A", "A"]
    assert panels["drilling"][at[thick]] == "depth from the front face, hole ends 12.2 mm behind it (lot from 28.2 mm), recess 1.5 mm; clamped from the front; table"
    recess = {r["panel_guid"]: r["counterbore_mm"] for r in rows(out / "anchors.csv")}
    assert float(recess[thick]) == pytest.approx(1.5) and recess[others[0]] == ""  # not measured: found on site
    assert "on site by measured thickness" in panels["drilling"][at[others[0]]]
    marks = {r["guid"]: r["fabrication_mark"] for r in rows(out / "panels.csv")}
    assert len({marks[thin], marks[thick], marks[others[0]]}) == 3


def test_a_reading_outside_the_tolerance_is_an_issue(free: Path, text: str, tmp_path: Path) -> None:
    guid = next(r["guid"] for r in rows(free / "panels.csv") if r["material"] == "granite")
    (tmp_path / "t.csv").write_text(f"guid,t_mm\n{guid},21.0\n")
    out = run(tmp_path, text, measured='"t.csv"')
    said = [r for r in rows(out / "issues.csv") if r["rule"] == "thickness-measured"]
    assert [r["guid"] for r in said] == [guid] and float(said[0]["measured"]) == 21.0


def test_no_item_fits_is_an_issue_with_dimension_and_amount(text: str, tmp_path: Path) -> None:
    """Items from a CSV beside the project file, the only one of which begins at 45 mm."""
    (tmp_path / "items.csv").write_text("name,materials,thickness_min_mm,embedment_mm,hole_diameter_mm,undercut_radius_mm,edge_mm,spacing_mm\n"
                                        "mine-1,*,45,12,9,5.3,50,100\n")
    own = text[: text.index("\n[hardware.")]
    out = run(tmp_path, own, items_csv='"items.csv"')
    panels = bimcheck.load(out).tables["panels"]
    assert set(panels["item"].tolist()) == {"mine-1"} and not (panels["result"] == "pass").any()
    said = {r["guid"]: r["text"] for r in rows(out / "issues.csv") if r["rule"] == "no-item"}
    for i in range(panels.n):
        assert said[panels["guid"][i]] == f"no item fits, nearest mine-1: panel too thin by {45 - panels['t_min'][i]:.1f} mm"
    assert all(r["fabrication_mark"] == "" for r in rows(out / "panels.csv"))


def test_marks_stay_when_panels_come_and_go(free: Path, text: str, tmp_path: Path) -> None:
    """A revision without two panels, in an output of its own: the others keep their marks; back again: the same marks."""
    marks = {r["guid"]: r["fabrication_mark"] for r in rows(free / "panels.csv")}
    gone = [g for g, m in marks.items() if m][3:5]
    file = ifcopenshell.open(str(SAMPLE))
    for guid in gone:
        file.remove(file.by_guid(guid))
    file.write(str(tmp_path / "fewer.ifc"))
    (tmp_path / "fresh").mkdir()
    fewer = {r["guid"]: r["fabrication_mark"] for r in rows(run(tmp_path / "fresh", text, tmp_path / "fewer.ifc") / "panels.csv")}
    beside = {r["guid"] for r in rows(free / "panels.csv") if r["result"] == "fail"}
    assert set(marks) - set(fewer) == set(gone)
    assert {g: m for g, m in fewer.items() if g not in beside} == {g: m for g, m in marks.items() if g not in beside and g not in gone}
    again = run(tmp_path / "fresh", text)
    assert {r["guid"]: r["fabrication_mark"] for r in rows(again / "panels.csv")} == marks


Sheet = Callable[[str], Rows]


@pytest.fixture(scope="module")
def sheets(free: Path) -> Sheet:
    assert main(["write", str(free), "fabrication", "drilling", "standardisation", "substructure"]) == 0
    book = openpyxl.load_workbook(free / "fabrication.xlsx")

    def sheet(name: str) -> Rows:
        head, *cells = [[c.value for c in row] for row in book[name].iter_rows()]
        return [dict(zip(head, row, strict=True)) for row in cells]
    assert not [c for s in book for row in s.iter_rows() for c in row if c.data_type == "f"]
    return sheet


def test_the_schedule_is_that_of_the_lists(free: Path, sheets: Sheet) -> None:
    panels = [r for r in rows(free / "panels.csv") if r["status"] == "panel"]
    passing = {r["guid"]: r["fabrication_mark"] for r in panels if r["result"] == "pass"}
    assert {r["GlobalId"]: r["Mark"] for r in sheets("Pieces")} == passing
    assert {r["GlobalId"] for r in sheets("Not released")} == {r["guid"] for r in panels} - set(passing)
    by_mark: dict[str, list[tuple[float, float]]] = {}
    for r in sheets("Holes"):
        by_mark.setdefault(r["Mark"], []).append((r["x from the left, seen from the REAR, mm"], r["y from below, mm"]))
    at = positions(free)
    for guid, mark in passing.items():
        np.testing.assert_allclose(by_mark[mark], at[guid], atol=0.051)  # marks are alike to a tenth
    assert sum(r["Panels"] for r in sheets("Marks")) == len(passing)
    anchors = [r for r in sheets("Articles") if r["Kind"] == "anchor"]
    assert sum(r["Released (pass)"] for r in anchors) == sum(len(at[g]) for g in passing)
    assert sum(r["Laid out in all"] for r in anchors) == len(rows(free / "anchors.csv"))


def test_drawings_show_the_rear_and_only_marks_that_stand(free: Path, sheets: Sheet) -> None:
    marks = {r["Mark"] for r in sheets("Marks")}
    assert {p.stem.removeprefix("drilling_") for p in (free / "drawings").glob("drilling_*.svg")} == marks
    (free / "drawings" / "drilling_OLD.svg").write_text("of an earlier revision")
    assert main(["write", str(free), "drilling"]) == 0
    assert not (free / "drawings" / "drilling_OLD.svg").exists()


def test_the_same_run_gives_the_same_bytes(free: Path, sheets: Sheet) -> None:
    names = ("fabrication.xlsx", "substructure.xlsx", "substructure.csv", "standardisation.csv", "drawings/standardisation.svg")
    before = [(free / n).read_bytes() for n in names]
    assert main(["write", str(free), "fabrication", "standardisation", "substructure"]) == 0
    assert [(free / n).read_bytes() for n in names] == before


def test_reactions_hold_the_building_in_balance(free: Path, sheets: Sheet) -> None:
    """What hangs on a rail is at most what its panels weigh; a row that hangs one panel alone carries all of it."""
    result = bimcheck.load(free)
    panels, table = result.tables["panels"], rows(free / "substructure.csv")
    weight = [r for r in table if r["combination"] == "weight"]
    assert {r["combination"] for r in table} >= {"weight", "wind suction (characteristic)", "1.35 G + 1.5 W suction"}
    assert sum(int(r["anchors"]) for r in weight) == len(rows(free / "anchors.csv"))
    heaviest = max(float(r["panel_weight_N"]) for r in weight)
    assert heaviest == pytest.approx(float(panels["V_G"][panels["candidate"] >= 0].max()), rel=1e-6)  # the upper pair hangs it all
    for r in table:
        assert float(r["least_N"]) <= float(r["outward_N"]) + 1e-9
