"""The commands as a user runs them, on the small bundled sample."""

from __future__ import annotations

import csv
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import ifcopenshell
import openpyxl
import pytest

import bimcheck
from bimcheck.cli import main
from tests.shared import ROOT, shared_models

SAMPLE = ROOT / "sample_models" / "small_podium_metre.ifc"


@pytest.fixture(scope="module", autouse=True)
def _cache(tmp_path_factory: pytest.TempPathFactory) -> None:
    os.environ["BIMCHECK_CACHE_DIR"] = str(tmp_path_factory.mktemp("cache"))


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("project") / "project.toml"
    assert main(["init", "--invented", "-o", str(path)]) == 0
    return path


@pytest.fixture(scope="module")
def out(project: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("run") / "out"
    assert main(["run", str(SAMPLE), "-p", str(project), "-o", str(folder), "--quiet"]) == 1
    return folder


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_balance_closes_and_panels_pass(out: Path) -> None:
    facts = json.loads((out / "run.json").read_text())
    panels = rows(out / "panels.csv")
    c = facts["counts"]
    assert c["considered"] == c["panel"] + c["out_of_scope"] + c["unreadable"] == len(panels)
    assert facts["results"]["pass"] > 0 and all(p["result"] in ("pass", "fail", "not_checked", "") for p in panels)
    assert all(float(p["utilisation"]) <= 1 + 1e-9 for p in panels if p["result"] == "pass")
    assert all(p["fabrication_mark"] for p in panels if p["result"] == "pass")


def test_the_authors_bytes_stay_and_strip_gives_them_back(out: Path, tmp_path: Path) -> None:
    original = SAMPLE.read_bytes()
    enriched = (out / "small_podium_metre.enriched.ifc").read_bytes()
    block = len(enriched) - len(original)
    end = original.rindex(b"ENDSEC")
    assert enriched[:end] == original[:end] and enriched[end + block :] == original[end:]
    assert main(["strip", str(out / "small_podium_metre.enriched.ifc"), "-o", str(tmp_path / "back.ifc")]) == 0
    assert hashlib.sha256((tmp_path / "back.ifc").read_bytes()).digest() == hashlib.sha256(original).digest()


def test_a_rerun_on_the_enriched_model_gives_the_same_bytes(out: Path, project: Path, tmp_path: Path) -> None:
    again = tmp_path / "again"
    assert main(["run", str(out / "small_podium_metre.enriched.ifc"), "-p", str(project), "-o", str(again), "--quiet"]) == 1
    for name in ("small_podium_metre.enriched.ifc", "panels.csv", "anchors.csv"):
        assert (again / name).read_bytes() == (out / name).read_bytes(), name


def test_anchors_in_the_model_are_those_of_the_list(out: Path) -> None:
    model = ifcopenshell.open(str(out / "small_podium_metre.enriched.ifc"))  # another reader of the file
    assert len(model.by_type("IfcMechanicalFastener")) == len(rows(out / "anchors.csv"))


def test_without_a_project_file_nothing_passes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", str(SAMPLE), "-o", str(tmp_path / "o"), "--quiet", "--json"]) == 1
    facts = json.loads(capsys.readouterr().out)
    assert facts["results"]["pass"] == 0 and "wind.v_b0_m_s" in facts["assumed"] and "hardware" in facts["assumed"]
    panels = [p for p in rows(tmp_path / "o" / "panels.csv") if p["status"] == "panel"]
    assert all("assumed:" in p["reason"] for p in panels if p["result"] == "not_checked")
    assert any(int(p["n_anchors"]) >= 4 for p in panels)  # layouts are still proposed


def test_explain_plan_quantities_compare_and_load(out: Path, capsys: pytest.CaptureFixture[str]) -> None:
    panel = next(p for p in rows(out / "panels.csv") if p["result"] == "pass")
    assert main(["explain", panel["guid"], "-o", str(out)]) == 0
    text = capsys.readouterr().out
    assert "EN 1991-1-4" in text and "sigma_Ed" in text and panel["governing_check"] in text
    assert main(["explain", "joint-width"]) == 0 and main(["plan"]) == 0
    capsys.readouterr()
    assert main(["quantities", str(out), "--by", "item"]) == 0
    counted = list(csv.DictReader(capsys.readouterr().out.splitlines()))
    assert sum(int(r["anchors"]) for r in counted) == len(rows(out / "anchors.csv"))
    assert main(["quantities", str(out), "--specimens"]) == 0
    assert main(["compare", str(out), str(out)]) == 0
    assert bimcheck.load(out).tables["panels"].n == len([p for p in rows(out / "panels.csv") if p["status"] == "panel"])


def test_an_accepted_issue_no_longer_fails_its_panel(project: Path, tmp_path: Path) -> None:
    (tmp_path / "p.toml").write_text(re.sub(r"(?m)^tolerance_mm = .*$", "tolerance_mm = 0.0", project.read_text()))
    words = ["run", str(SAMPLE), "-p", str(tmp_path / "p.toml"), "-o", str(tmp_path / "o"), "--quiet"]
    assert main(words) == 1
    fails = [p for p in rows(tmp_path / "o" / "panels.csv") if p["result"] == "fail"]
    assert fails and all(float(p["utilisation"]) <= 1 for p in fails)  # the planted joint, not a check
    book = openpyxl.load_workbook(tmp_path / "o" / "issues.xlsx")
    sheet = book["Issues"]
    at = {cell.value: cell.column for cell in sheet[1]}
    for row in range(2, sheet.max_row + 1):
        sheet.cell(row, at["Status"], "accepted")
        sheet.cell(row, at["Comment"], "agreed on site")
    book.save(tmp_path / "o" / "issues.xlsx")
    assert main(words) == 0
    assert {r["state"] for r in rows(tmp_path / "o" / "issues.csv")} == {"accepted"}
    assert not [p for p in rows(tmp_path / "o" / "panels.csv") if p["result"] == "fail"]


def test_further_outputs_come_from_the_store(out: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["write", str(out), "edges", "jsonl", "junit", "elevations"]) == 0
    assert "edges.csv" in capsys.readouterr().out
    listed = rows(out / "issues.csv")
    assert [json.loads(line)["issue"] for line in (out / "issues.jsonl").read_text().splitlines()] == [r["issue"] for r in listed]
    suites = ElementTree.parse(out / "junit.xml").getroot()
    assert sum(int(s.attrib["failures"]) for s in suites) == sum(r["severity"] == "error" for r in listed) > 0
    with_anchors = {r["panel_guid"] for r in rows(out / "anchors.csv")}
    assert {r["panel_guid"] for r in rows(out / "edges.csv")} == with_anchors
    assert main(["write", str(out), "nothing-such"]) == 2


def test_in_process_gives_the_same_numbers(out: Path, project: Path) -> None:
    model = ifcopenshell.open(str(SAMPLE))
    result = bimcheck.enrich(model, project)
    listed = [p for p in rows(out / "panels.csv") if p["status"] == "panel"]
    assert [f"{u:.6f}" for u in result.tables["panels"]["utilisation"]] == [f"{float(p['utilisation']):.6f}" for p in listed]
    assert len(model.by_type("IfcMechanicalFastener")) == result.tables["anchors"].n
    count = len(list(model))
    bimcheck.enrich(model, project)
    assert len(list(model)) == count


_FAULTS = {
    "unknown key": ("[wind]\nv_b_m_s = 25\n", "did you mean 'v_b0_m_s'"),
    "wrong type": ("[wind]\nv_b0_m_s = \"25 mph\"\n", "v_b0_m_s"),
    "not toml": ("[wind\n", "not valid TOML"),
    "unknown standard": ("[wind]\nstandard = \"none of these\"\n", "installed:"),
}


@pytest.mark.parametrize("name", _FAULTS)
def test_a_faulty_project_file_is_one_line(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text, says = _FAULTS[name]
    (tmp_path / "p.toml").write_text(text)
    _refused(["run", str(SAMPLE), "-p", str(tmp_path / "p.toml"), "-o", str(tmp_path / "o")], says, capsys)


def _refused(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*words, "--quiet"] if words[0] == "run" else words) == 2
    lines = [line for line in capsys.readouterr().err.splitlines() if line.startswith("bimcheck ")]
    assert len(lines) == 1 and says in lines[0], lines


def test_input_that_cannot_be_used_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = SAMPLE.read_text()
    cases = {"missing.ifc": (None, "missing.ifc"), "cut.ifc": (text[:4000], "cut off"), "plain.ifc": ("hello", "no IFC"),
             "schema.ifc": (text.replace("'IFC2X3'", "'IFC5X9'"), "schema.ifc")}
    for name, (content, says) in cases.items():
        if content is not None:
            (tmp_path / name).write_text(content)
        _refused(["run", str(tmp_path / name), "-o", str(tmp_path / f"o-{name}")], says, capsys)


def test_output_folders_of_others_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "foreign").mkdir()
    (tmp_path / "foreign" / "letter.txt").write_text("mine")
    _refused(["run", str(SAMPLE), "-o", str(tmp_path / "foreign")], "holds no run of bimcheck", capsys)
    assert [p.name for p in (tmp_path / "foreign").iterdir()] == ["letter.txt"]
    (tmp_path / "a").mkdir()
    shutil.copy(SAMPLE, tmp_path / "a" / SAMPLE.name)
    _refused(["run", str(SAMPLE), str(tmp_path / "a" / SAMPLE.name), "-o", str(tmp_path / "o")], "base name", capsys)


@pytest.mark.parametrize("name", ["house_ifc4_mm.ifc", "precast_plate_utm_mm.ifc", "steel_plates_fasteners_inch.ifc",
                                  "rainscreen_detail_ifc4_metre.ifc", "scene_ifc4x3_tessellated.ifc", "plates_mapped_metre.ifc"])
def test_real_models_close_their_balance(name: str, tmp_path: Path, project: Path) -> None:
    status = main(["run", str(shared_models("real") / name), "-p", str(project), "-o", str(tmp_path / "o"), "--quiet"])
    facts = json.loads((tmp_path / "o" / "run.json").read_text())
    c = facts["counts"]
    assert c["considered"] == c["panel"] + c["out_of_scope"] + c["unreadable"] == len(rows(tmp_path / "o" / "panels.csv"))
    assert status == (2 if c["panel"] == 0 else facts["exit_status"])
    if name.startswith("steel"):
        assert c["panel"] == 0  # connection plates are no facade



def test_help_imports_nothing_heavy() -> None:
    code = "import sys; from bimcheck.cli import main; print(sorted({'numpy', 'pandas', 'scipy.stats', 'matplotlib', 'pydantic'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip() == "[]"


def test_what_is_drilled_stays_where_it_is(out: Path, project: Path, tmp_path: Path) -> None:
    """Positions of a CSV are the only candidate: checked as they are, never moved."""
    lines = (out / "anchors.csv").read_text().splitlines()
    at = lines[0].split(",").index("y_mm")
    first = lines[1].split(",")
    first[at] = str(float(first[at]) + 3.0)  # off every grid of insets
    (tmp_path / "drilled.csv").write_text("\n".join([lines[0], ",".join(first), *lines[2:]]) + "\n")
    text = project.read_text().replace('keep = ""', f'keep = "{tmp_path / "drilled.csv"}"')
    (tmp_path / "p.toml").write_text(text)
    assert main(["run", str(SAMPLE), "-p", str(tmp_path / "p.toml"), "-o", str(tmp_path / "o"), "--quiet"]) in (0, 1)
    before, after = ({(r["panel_guid"], r["x_rear_mm"], r["y_mm"]) for r in rows(f)} for f in (tmp_path / "drilled.csv", tmp_path / "o" / "anchors.csv"))
    assert before == after


@pytest.mark.parametrize("key, told", [("joint-width", "[joints] min_mm"), ("bending", "EN 1990"), ("edge-distance", "edge_min_item"), ("weight", "EN 1991-1-1")])
def test_rules_are_explained_without_a_run(key: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", key, "-o", str(tmp_path)]) == 0
    assert told in capsys.readouterr().out


def test_second_processes_change_nothing(out: Path, project: Path, tmp_path: Path) -> None:
    """What large models do in a second process gives the same files; in a process of its own, for only such may be divided."""
    code = ("import sys; from bimcheck import pipeline; from bimcheck.cli import main; from bimcheck.core import beside; "
            "from bimcheck.read import stage as read; from bimcheck.relate import stage as relate; started = []; begin = beside.Beside.__init__\n"
            "def counted(self, tasks):\n    started.append(tasks); begin(self, tasks)\n"
            "beside.Beside.__init__ = counted; pipeline.MANY = relate.MANY = read.LARGE = 0\n"
            "for room in (pipeline, relate, read):\n    room.worth_it = lambda: True\n"
            "status = main(sys.argv[1:]); print(len(started)); sys.exit(status)")
    done = subprocess.run([sys.executable, "-c", code, "run", str(SAMPLE), "-p", str(project), "-o", str(tmp_path / "o"), "--quiet"],
                          capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 1 and done.stdout.splitlines()[-1] == "4", done.stderr  # read, relate, finders, store and workbook
    for name in ("panels.csv", "anchors.csv", "issues.csv", "small_podium_metre.enriched.ifc"):
        assert (tmp_path / "o" / name).read_bytes() == (out / name).read_bytes(), name
