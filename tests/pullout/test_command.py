"""bimcheck pullout as a user runs it: files, exit status, the same bytes twice, formulas that stay words."""

from __future__ import annotations

import argparse
import json
import tomllib
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest

from bimcheck.commands import pullout
from bimcheck.core.errors import InputError
from tests.pullout.series import LOADS, file, row


def _run(*arguments: object) -> int:
    parser = argparse.ArgumentParser()
    pullout.add_arguments(parser)
    return pullout.run(parser.parse_args([str(a) for a in arguments]))


def _series(folder: Path) -> Path:
    return file(folder, [*(row(x, failure="=breakout") for x in LOADS), *(row(0.8 * x, condition="frost", colour="=1+1") for x in LOADS), row(3.3, "other")])


def _written(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_a_run_writes_everything_and_the_same_twice(tmp_path: Path) -> None:
    series = _series(tmp_path)
    assert _run(series, "-o", tmp_path / "a", "--date", "2026-11-25") == 1  # cautions: one specimen
    _run(series, "-o", tmp_path / "b", "--date", "2026-11-25")
    files = _written(tmp_path / "a")
    assert files == _written(tmp_path / "b")
    assert {"pullout.xlsx", "materials.toml"} <= set(files)
    pictures = [n for n in files if n.startswith("pictures/")]
    assert len(pictures) == 2 * 3
    for name in pictures:
        if name.endswith(".svg"):
            ElementTree.fromstring(files[name])
        else:
            assert files[name].startswith(b"\x89PNG")
    assert set(tomllib.loads(files["materials.toml"].decode())["materials"]) == {"granite", "other"}


def test_words_that_look_like_formulas_are_words_in_the_workbook(tmp_path: Path) -> None:
    _run(_series(tmp_path), "-o", tmp_path / "a", "--date", "2026-11-25", "--no-pictures")
    cells = [c for sheet in openpyxl.load_workbook(tmp_path / "a" / "pullout.xlsx") for line in sheet.iter_rows() for c in line if c.value is not None]
    words = [c for c in cells if str(c.value).startswith(("=breakout", "=1+1"))]
    assert len(words) >= 20
    assert {c.data_type for c in words} == {"s"}


def test_the_workbook_holds_every_specimen_and_the_caution(tmp_path: Path) -> None:
    _run(_series(tmp_path), "-o", tmp_path / "a", "--date", "2026-11-25", "--no-pictures")
    book = openpyxl.load_workbook(tmp_path / "a" / "pullout.xlsx")
    values = [[c.value for line in sheet.iter_rows() for c in line] for sheet in book]
    numbers = {round(v, 6) for sheet in values for v in sheet if isinstance(v, float)}
    assert {round(x, 6) for x in LOADS} <= numbers
    assert any("local code" in str(v).casefold() for v in values[0])


def test_json_on_stdout_and_messages_on_stderr(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _run(_series(tmp_path), "-o", tmp_path / "a", "--date", "2026-11-25", "--no-pictures", "--json")
    out, err = capsys.readouterr()
    assert isinstance(json.loads(out), dict)
    assert "NaN" not in out
    assert "3 groups" in err


def test_template_can_be_evaluated(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("--template") == 0
    (tmp_path / "t.csv").write_text(capsys.readouterr().out, encoding="utf-8")
    _run(tmp_path / "t.csv", "-o", tmp_path / "a", "--date", "2026-11-25", "--no-pictures")


def test_a_clean_series_exits_with_zero(tmp_path: Path) -> None:
    assert _run(file(tmp_path, [row(x) for x in LOADS]), "-o", tmp_path / "a", "--date", "2026-11-25", "--no-pictures") == 0


@pytest.mark.parametrize("arguments", [(), ("--date", "25.11.2026"), ("--gamma-M", "0.5"), ("--confidence", "x")])
def test_options_that_cannot_be_used(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    series = [file(tmp_path, [row(x) for x in LOADS])] if arguments else []
    with pytest.raises(InputError):
        _run(*series, *arguments, "-o", tmp_path / "a")


def test_a_folder_of_something_else_is_refused_and_kept(tmp_path: Path) -> None:
    other = tmp_path / "a"
    other.mkdir()
    (other / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="not empty"):
        _run(file(tmp_path, [row(x) for x in LOADS]), "-o", other, "--no-pictures")
    assert _written(other) == {"mine.txt": b"mine"}


def test_a_second_run_takes_away_its_own_old_pictures_only(tmp_path: Path) -> None:
    out = tmp_path / "a"
    _run(_series(tmp_path), "-o", out, "--date", "2026-11-25")
    (out / "note.txt").write_text("mine", encoding="utf-8")
    _run(file(tmp_path, [row(x) for x in LOADS]), "-o", out, "--date", "2026-11-25")
    assert len(list((out / "pictures").iterdir())) == 2
    assert (out / "note.txt").exists()
