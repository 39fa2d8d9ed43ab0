"""The shipped IDS names what a model misses; counts come from the truth of the models."""

from __future__ import annotations

import ifcopenshell
import pytest

from bimcheck.core.errors import InputError
from tests.read.common import case
from tests.shared import shared_models

ids = pytest.importorskip("bimcheck.read.ids", reason="needs ifctester")


def test_missing_materials_are_named() -> None:
    """c01: two panels lack a material (its json: issues of rule material-missing); storeys and names are complete."""
    file = ifcopenshell.open(str(shared_models("truth") / "c01_tower.ifc"))
    rows = ids.check_ids(file)
    assert [r["specification"] for r in rows] == ["A panel has a material"] * 2
    assert {r["guid"] for r in rows} == {i["guids"][0] for i in _issues("c01_tower") if i["rule"] == "material-missing"}


def test_a_model_without_storeys() -> None:
    """c10a has no storey at all (README: blank where there are none)."""
    rows = ids.check_ids(ifcopenshell.open(str(shared_models("truth") / "c10a_messy.ifc")))
    assert any(r["specification"] == "A storey has a name" and r["guid"] == "" for r in rows)
    assert sum(r["specification"] == "A panel belongs to a storey" for r in rows) == 102


def test_another_file_that_is_none(tmp_path) -> None:
    bad = tmp_path / "x.ids"
    bad.write_text("<a>")
    with pytest.raises(InputError):
        ids.check_ids(ifcopenshell.file(), str(bad))


def _issues(name: str) -> list[dict]:


    return case(name)[2]["issues"]
