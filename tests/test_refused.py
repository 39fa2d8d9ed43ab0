"""Folders and files that the machine does not let us use: one line, exit status 2, nothing left behind."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from bimcheck.core.errors import InputError
from bimcheck.inputs import sources
from tests.shared import ROOT

SAMPLE = ROOT / "sample_models" / "small_podium_metre.ifc"
_BOUND = "-dac_override,-dac_read_search"  # root may do everything unless it gives these up
pytestmark = pytest.mark.skipif(not hasattr(os, "geteuid") or (os.geteuid() == 0 and shutil.which("setpriv") is None),
                                reason="permissions cannot be taken away here")


def bimcheck(*words: object, **env: str) -> tuple[int, str]:
    as_user = ["setpriv", f"--inh-caps={_BOUND}", f"--bounding-set={_BOUND}"] if os.geteuid() == 0 else []
    done = subprocess.run([*as_user, sys.executable, "-m", "bimcheck", *map(str, words)], capture_output=True, text=True, check=False,
                          env={**os.environ, **env}, cwd=ROOT)
    return done.returncode, done.stderr


@pytest.fixture
def closed(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "closed"
    folder.mkdir()
    (folder / "model.ifc").write_bytes(SAMPLE.read_bytes())
    folder.chmod(0)
    yield folder
    folder.chmod(0o700)


@pytest.fixture
def read_only(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "read_only"
    folder.mkdir(mode=0o500)
    yield folder
    folder.chmod(0o700)


def refused(found: tuple[int, str], *named: str) -> None:
    status, text = found
    assert status == 2 and text.count("\n") == 1 and "Traceback" not in text, text
    assert all(n in text for n in named), text


@pytest.mark.parametrize("below", ["", "new", "new/deep"])
def test_an_output_folder_that_cannot_be_written(read_only: Path, closed: Path, below: str) -> None:
    for folder in (read_only, closed):
        refused(bimcheck("run", SAMPLE, "-o", folder / below, "--quiet"), "cannot be written", folder.name, "-o")


def test_a_file_is_no_output_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    refused(bimcheck("run", SAMPLE, "-o", tmp_path / "file", "--quiet"), "file")
    refused(bimcheck("run", SAMPLE, "-o", tmp_path / "file" / "below", "--quiet"), "file")
    assert (tmp_path / "file").read_text() == "mine"


def test_a_model_that_cannot_be_read_leaves_no_folder(closed: Path, tmp_path: Path) -> None:
    refused(bimcheck("run", closed / "model.ifc", "-o", tmp_path / "a" / "b", "--quiet"), "model.ifc")
    assert not (tmp_path / "a").exists()


def test_no_earlier_run_to_compare_with(closed: Path, tmp_path: Path) -> None:
    for previous in (closed, tmp_path / "none"):
        refused(bimcheck("run", SAMPLE, "-o", tmp_path / "out", "--previous", previous, "--quiet"), "no earlier run", previous.name)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("words", [("explain", "x", "-o"), ("write", "elevations"), ("quantities", "--by", "item"), ("compare", ".")])
def test_a_run_that_cannot_be_read(closed: Path, words: tuple[str, ...]) -> None:
    given = [words[0], closed, *words[1:]] if words[-1] != "-o" else [*words, closed]
    refused(bimcheck(*given), "closed")


def test_the_demo_overwrites_nothing_of_others(tmp_path: Path) -> None:
    (tmp_path / "project.toml").write_text("mine")
    refused(bimcheck("demo", "-o", tmp_path, "--quiet"), "not empty")
    assert (tmp_path / "project.toml").read_text() == "mine" and len(list(tmp_path.iterdir())) == 1


def test_a_closed_cache_only_costs_time(closed: Path, read_only: Path, tmp_path: Path) -> None:
    for i, where in enumerate((closed / "x", read_only)):
        status, text = bimcheck("run", SAMPLE, "-o", tmp_path / f"out{i}", "--quiet", BIMCHECK_CACHE_DIR=str(where))
        assert status == 1 and not text


def test_a_model_that_changes_while_it_is_checked_is_not_written_over_old_results(tmp_path: Path) -> None:
    path = tmp_path / "model.ifc"
    path.write_bytes(SAMPLE.read_bytes())
    with sources([path]) as (model,):
        read = hashlib.sha256(model.original()).hexdigest()
        assert model.original(read) == SAMPLE.read_bytes()
        path.write_bytes(SAMPLE.read_bytes() + b"\n")
        with pytest.raises(InputError, match="changed while"):
            model.original(read)
