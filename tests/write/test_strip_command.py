"""The command `bimcheck strip`."""

from __future__ import annotations

import argparse
from pathlib import Path

import pytest

from bimcheck.commands import strip as command
from bimcheck.core.errors import InputError
from bimcheck.write.step_block import append, insertion
from tests.write.step_samples import PLAIN, block


def _run(*words: str) -> int:
    parser = argparse.ArgumentParser()
    command.add_arguments(parser)
    return command.run(parser.parse_args(words))


def _enriched(folder: Path) -> Path:
    place = insertion(PLAIN)
    path = folder / "a.enriched.ifc"
    path.write_bytes(append(place, block(place)))
    return path


def test_it_gives_the_authors_file_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run(str(_enriched(tmp_path)), "-o", str(tmp_path / "a.ifc")) == 0
    assert (tmp_path / "a.ifc").read_bytes() == PLAIN
    said = capsys.readouterr()
    assert "byte for byte" in said.err and not said.out
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.enriched.ifc", "a.ifc"]


def test_it_says_when_the_file_was_saved_by_another_program(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = _enriched(tmp_path)
    path.write_bytes(path.read_bytes().replace(b"2;1", b"2;2"))
    assert _run(str(path), "-o", str(tmp_path / "a.ifc")) == 0
    assert "no longer byte-exact" in capsys.readouterr().err


def test_it_never_overwrites_its_input_or_writes_into_nowhere(tmp_path: Path) -> None:
    path = _enriched(tmp_path)
    before = path.read_bytes()
    for output in (path, tmp_path / ".." / tmp_path.name / path.name, tmp_path, tmp_path / "no" / "a.ifc"):
        with pytest.raises(InputError):
            _run(str(path), "-o", str(output))
    assert path.read_bytes() == before
