"""From run to run as a coordinator meets it: through the command, on models that change.

Expected values: the joint of the bundled sample is 3 mm wide by its truth file (5 mm are required); moving a panel by 1 mm
makes it 2 mm.
"""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.util.element
import openpyxl
import pytest

from bimcheck.cli import main
from tests.shared import ROOT

SAMPLE = ROOT / "sample_models" / "small_podium_metre.ifc"
LEFT, RIGHT = "2Dsc_buoPQDAzQmDOuQAJa", "0XgT6StC5TBu38JmDJMoU7"  # the two panels of the narrow joint
TYPED = {"Status": "ask", "Assignee": "00123", "Comment": "=2*3"}


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with model, project and the results of a first run."""
    folder = tmp_path_factory.mktemp("coordinator")
    os.environ["BIMCHECK_CACHE_DIR"] = str(folder / "cache")
    shutil.copy2(SAMPLE, folder / "a.ifc")
    assert main(["init", "--invented", "-o", str(folder / "p.toml")]) == 0
    assert run(folder) == 1
    return folder


@pytest.fixture
def site(first: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(first, tmp_path / "site"))


def run(folder: Path, *words: str, model: str = "a.ifc") -> int:
    return main(["run", str(folder / model), "-p", str(folder / "p.toml"), "-o", str(folder / "out"), "--quiet", *words])


def issues(folder: Path) -> dict[str, dict[str, str]]:
    with (folder / "out" / "issues.csv").open(encoding="utf-8", newline="") as file:
        return {r["issue"]: r for r in csv.DictReader(file)}


def the_joint(folder: Path) -> dict[str, str]:
    return next(r for r in issues(folder).values() if r["rule"] == "joint-width")


def sheet_rows(folder: Path) -> list[dict[str, Any]]:
    lines = list(openpyxl.load_workbook(folder / "out" / "issues.xlsx")["Issues"].iter_rows(values_only=True))
    return [dict(zip(map(str, lines[0]), line, strict=True)) for line in lines[1:]]


def type_into(folder: Path, texts: Callable[[dict[str, Any]], dict[str, str]], *, turned: bool = False) -> None:
    """Write into the rows; turned: sorted the other way round as well."""
    path = folder / "out" / "issues.xlsx"
    book = openpyxl.load_workbook(path)
    sheet = book["Issues"]
    titles = [c.value for c in sheet[1]]
    lines = [[c.value for c in row] for row in sheet.iter_rows(min_row=2)]
    for number, line in enumerate(lines[::-1] if turned else lines, start=2):
        for column, value in enumerate(line, start=1):
            sheet.cell(number, column).value = value
        for title, text in texts(dict(zip(titles, line, strict=True))).items():
            cell = sheet.cell(number, titles.index(title) + 1)
            cell.value = text
            cell.data_type = "s"
    book.save(path)


def change(folder: Path, edit: Callable[[ifcopenshell.file], None], model: str = "a.ifc") -> None:
    file = ifcopenshell.open(str(folder / "a.ifc"))
    edit(file)
    file.write(str(folder / model))


def moved(file: ifcopenshell.file, guid: str, x: float, z: float = 0.0) -> None:
    """Shift an element in its parent's axes, metres."""
    place = file.by_guid(guid).ObjectPlacement.RelativePlacement
    at = place.Location.Coordinates
    place.Location = file.create_entity("IfcCartesianPoint", Coordinates=(at[0] + x, at[1], at[2] + z))


def added(file: ifcopenshell.file, like: str, x: float) -> None:
    """A copy of an element beside it."""
    old = file.by_guid(like)
    new = ifcopenshell.util.element.copy(file, old)
    new.GlobalId, new.Tag, new.Name = "2new000000000000000001", "NEW-1", "New panel"
    new.ObjectPlacement = ifcopenshell.util.element.copy(file, old.ObjectPlacement)
    new.ObjectPlacement.RelativePlacement = ifcopenshell.util.element.copy(file, old.ObjectPlacement.RelativePlacement)
    moved(file, new.GlobalId, x)
    for relation in file.get_inverse(old):
        if relation.is_a("IfcRelContainedInSpatialStructure"):
            relation.RelatedElements = [*relation.RelatedElements, new]
        elif relation.is_a("IfcRelAssociatesMaterial"):
            relation.RelatedObjects = [*relation.RelatedObjects, new]


def test_what_people_typed_survives_a_moved_a_removed_and_a_new_panel(site: Path) -> None:
    ids = set(issues(site))
    type_into(site, lambda row: {**TYPED, "Comment": f"seen {row['Issue']}"}, turned=True)
    order = [r["Issue"] for r in sheet_rows(site)]

    def kept() -> bool:
        rows = {r["Issue"]: r for r in sheet_rows(site)}
        return all((rows[i]["Status"], rows[i]["Assignee"], rows[i]["Comment"]) == ("ask", "00123", f"seen {i}") for i in ids)

    change(site, lambda f: moved(f, RIGHT, 0.001))
    assert run(site) == 1 and kept()
    joint = the_joint(site)
    assert joint["state"] == "open" and float(joint["measured"]) in (pytest.approx(2.0, abs=0.01), pytest.approx(4.0, abs=0.01))
    assert [r["Issue"] for r in sheet_rows(site) if r["Issue"] in ids] == order

    change(site, lambda f: f.remove(f.by_guid(RIGHT)))
    run(site)
    assert kept() and the_joint(site)["state"] == "resolved"

    change(site, lambda f: added(f, LEFT, 0.02))
    assert run(site) == 1 and kept()
    new = [r for r in issues(site).values() if r["state"] == "new"]
    assert any(r["rule"] == "panel-overlap" and "2new000000000000000001" in (r["guid"], r["other_guid"]) for r in new)
    listed = [r["Issue"] for r in sheet_rows(site)]
    assert [i for i in listed if i in ids] == order and listed[0] not in ids


def test_accepted_holds_until_it_gets_worse(site: Path) -> None:
    type_into(site, lambda row: {"Status": "accepted", "Comment": "agreed with the mason"})
    run(site)
    assert the_joint(site)["state"] == "accepted"
    right_way = [0.001, -0.001]
    for step in right_way:
        change(site, lambda f, step=step: moved(f, RIGHT, step), "worse.ifc")
        run(site, model="worse.ifc")
        if float(the_joint(site)["measured"]) < 2.5:
            break
    joint = the_joint(site)
    assert joint["state"] == "open" and joint["status"] == "was accepted" and "accepted at a shortfall of 2, now 3" in joint["note"]


def test_a_run_on_a_selection_leaves_the_rest_as_it_was(site: Path) -> None:
    before = issues(site)
    assert run(site, "--only", "IfcPlate, Name=/.*Q-F1.*/") == 1
    after = issues(site)
    assert all(after[i]["state"] == before[i]["state"] and after[i]["note"].startswith("not looked at") for i in before)
    assert run(site) == 1
    assert {issues(site)[i]["state"] for i in before} == {"open"}


def test_a_renamed_model_is_the_same_model(site: Path) -> None:
    change(site, lambda f: f.remove(f.by_guid(RIGHT)), "a_revision_B.ifc")
    run(site, model="a_revision_B.ifc")
    assert the_joint(site)["state"] == "resolved"


def test_what_was_typed_beside_an_earlier_run_comes_along(site: Path, tmp_path: Path) -> None:
    type_into(site, lambda row: TYPED)
    words = ["run", str(site / "a.ifc"), "-p", str(site / "p.toml"), "-o", str(tmp_path / "next"), "--previous", str(site / "out"), "--quiet"]
    assert main(words) == 1
    book = openpyxl.load_workbook(tmp_path / "next" / "issues.xlsx")["Issues"]
    assert {(r[1], r[2], r[3]) for r in book.iter_rows(min_row=2, values_only=True)} == {("ask", "00123", "=2*3")}


def _broken(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:3000])


def _foreign(path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["A1"] = "minutes of the meeting"  # type: ignore[index]
    book.save(path)


def _open_in_one(path: Path) -> None:
    path.with_name(f"~${path.name}").write_bytes(b"someone")


def _open_in_another(path: Path) -> None:
    path.with_name(f".~lock.{path.name}#").write_text(",someone,host,;")


@pytest.mark.parametrize("spoil", [_broken, _foreign, _open_in_one, _open_in_another])
def test_a_workbook_that_cannot_be_used_is_one_line_and_nothing_is_lost(spoil: Callable[[Path], None], site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_into(site, lambda row: TYPED)
    path = site / "out" / "issues.xlsx"
    spoil(path)
    held = {p.name: p.read_bytes() for p in (site / "out").iterdir() if p.is_file()}
    capsys.readouterr()
    assert run(site) == 2
    said = capsys.readouterr().err.strip()
    assert "\n" not in said and "issues.xlsx" in said and "Traceback" not in said
    assert {p.name: p.read_bytes() for p in (site / "out").iterdir() if p.is_file()} == held


def test_a_workbook_that_cannot_be_written_is_one_line_and_stays(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_into(site, lambda row: TYPED)
    path = site / "out" / "issues.xlsx"
    (site / "out" / ".issues.xlsx.part").mkdir()
    before = path.read_bytes()
    capsys.readouterr()
    assert run(site) == 2
    said = capsys.readouterr().err.strip()
    assert "\n" not in said and "cannot be written" in said and path.read_bytes() == before
    (site / "out" / ".issues.xlsx.part").rmdir()
    assert run(site) == 1
    assert {(r["Status"], r["Assignee"], r["Comment"]) for r in sheet_rows(site)} == {("ask", "00123", "=2*3")}


def test_fail_on_warning_raises_the_status_and_the_pipeline_hears_it(site: Path) -> None:
    """A joint said to be too wide above 3.5 mm makes warnings of the rest; errors accepted, only warnings stand."""
    text = (site / "p.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^#? ?max_mm = .*$", "max_mm = 3.5", text)
    (site / "p.toml").write_text(re.sub(r"(?m)^tolerance_mm = .*$", "tolerance_mm = 0.0", text), encoding="utf-8")
    run(site)
    type_into(site, lambda row: {"Status": "accepted", "Comment": "agreed"} if row["Severity"] == "error" else {})
    status = {on: run(site, "--fail-on", on) for on in ("error", "warning")}
    assert json.loads((site / "out" / "run.json").read_text())["issues"].keys() == {"warning"}
    assert status == {"error": 0, "warning": 1}


def with_grid(file: ifcopenshell.file) -> None:
    """A and B run north at x = 1 m and 4 m, 1 and 2 east at y = 0 and 5 m; the grid is placed 0.5 m further east."""
    def axis(tag: str, *ends: tuple[float, float]) -> Any:
        points = [file.create_entity("IfcCartesianPoint", Coordinates=e) for e in ends]
        return file.create_entity("IfcGridAxis", AxisTag=tag, AxisCurve=file.create_entity("IfcPolyline", Points=points), SameSense=True)
    origin = file.create_entity("IfcAxis2Placement3D", Location=file.create_entity("IfcCartesianPoint", Coordinates=(0.5, 0.0, 0.0)))
    file.create_entity(
        "IfcGrid", GlobalId="0gr000000000000000grid", OwnerHistory=next(iter(file.by_type("IfcOwnerHistory")), None),
        ObjectPlacement=file.create_entity("IfcLocalPlacement", RelativePlacement=origin),
        UAxes=[axis("A", (0.5, -1.0), (0.5, 9.0)), axis("B", (3.5, -1.0), (3.5, 9.0))], VAxes=[axis("1", (-1.0, 0.0), (9.0, 0.0)), axis("2", (-1.0, 5.0), (9.0, 5.0))])


def test_issues_say_where_they_stand_against_the_axes(site: Path) -> None:
    change(site, with_grid)
    assert run(site) == 1
    joint = the_joint(site)
    off_b, off_2 = float(joint["x_m"]) - 4.0, float(joint["y_m"]) - 5.0
    assert joint["grid"] == f"B {off_b:+.2f} m, 2 {off_2:+.2f} m"
    assert joint["grid"] in {r["Grid"] for r in sheet_rows(site)}
    assert run(site, "--units", "us") == 1
    in_feet = next(r for r in sheet_rows(site) if r["Rule"] == "joint-width")
    assert in_feet["Grid"] == f"B {off_b / 0.3048:+.2f} ft, 2 {off_2 / 0.3048:+.2f} ft" and in_feet["Unit"] == "in"
    assert in_feet["Measured"] == pytest.approx(3.0 / 25.4, abs=1e-3) and the_joint(site)["unit"] == "mm"


def test_a_bcf_file_comes_with_the_run_and_from_the_store(site: Path) -> None:
    bcf = pytest.importorskip("bcf.v2.bcfxml", reason="the BCF library is an extra")
    assert main(["write", str(site / "out"), "bcf"]) == 0
    with bcf.BcfXml.load(site / "out" / "issues.bcf") as book:
        first = set(book.topics)
    text = (site / "p.toml").read_text(encoding="utf-8")
    (site / "p.toml").write_text(re.sub(r"(?m)^#? ?outputs = .*$", 'outputs = ["bcf"]', text), encoding="utf-8")
    (site / "out" / "issues.bcf").unlink()
    assert run(site) == 1
    with bcf.BcfXml.load(site / "out" / "issues.bcf") as book:
        assert set(book.topics) == first
        assert {t.topic.title for t in book.topics.values()} == {r["group"] for r in issues(site).values()}
