"""Pages made from the code are current, and links in README lead somewhere."""

from __future__ import annotations

import re

import pytest

from bimcheck.reference_docs import pages
from tests.shared import ROOT
from tests.verification.page import text as verification_text


@pytest.mark.parametrize("name", ["rules.md", "columns.md", "properties.md"])
def test_reference_pages_are_current(name: str) -> None:
    assert (ROOT / "docs" / name).read_text(encoding="utf-8") == pages()[name], "run python -m bimcheck.reference_docs"


def test_verification_page_is_current() -> None:
    assert (ROOT / "docs" / "verification.md").read_text(encoding="utf-8") == verification_text(), "run python -m tests.verification.page"


def test_links_of_the_readme_lead_somewhere() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", (ROOT / "README.md").read_text(encoding="utf-8")):
        assert (ROOT / target).exists(), target


def test_no_path_of_a_machine_and_only_known_names_at_the_top() -> None:
    known = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "bimcheck", "tests", "sample_models", "docs"}
    made = {"bimcheck-demo", "bimcheck-out", "build", "dist", "bimcheck.egg-info"}
    assert {p.name for p in ROOT.iterdir() if not p.name.startswith(".")} - made <= known


def test_the_example_for_hosts_runs(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(ROOT)
    code = re.findall(r"```python\n(.*?)```", (ROOT / "docs" / "in-process.md").read_text(encoding="utf-8"), re.S)[0]
    names: dict[str, object] = {}
    exec(compile(code, "in-process.md", "exec"), names)
    counted, said = capsys.readouterr().out.splitlines()
    assert counted.startswith("40 panels, ") and not counted.startswith("40 panels, 0 ")
    assert said.startswith("not_checked assumed:") and "hardware" in said
