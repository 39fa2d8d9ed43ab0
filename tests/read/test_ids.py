"""The IDS gate that comes with bimcheck (ifctester judges; it is a general library)."""

from __future__ import annotations

from pathlib import Path

import ifctester.ids
import pytest

from bimcheck.core.errors import InputError
from bimcheck.read.ids import check_ids, shipped
from tests.read.plain import Plain


def test_the_file_is_valid_ids_and_every_specification_must_apply() -> None:
    specs = ifctester.ids.open(str(shipped()), validate=True).specifications
    assert specs and all(s.minOccurs == 1 for s in specs)


def test_each_missing_thing_is_named_for_its_element() -> None:
    model = Plain()
    model.element(name="good", material="Granite")
    model.element(name="bare")
    model.element(name="hollow", material="Granite", sides=None)
    rows = check_ids(model.file())
    assert {(r["name"], r["spec"]) for r in rows if r["name"]} == {("bare", "Panels have a material"), ("hollow", "Panels have a body")}
    assert all(r["guid"] and r["step_id"] and r["missing"] for r in rows if r["name"])
    assert [r["spec"] for r in rows if not r["name"]] == ["There is a building with a placement"]  # this model has no building


def test_a_second_check_says_the_same() -> None:
    model = Plain()
    model.element(name="bare")
    file = model.file()
    assert check_ids(file) == check_ids(file)


def test_rows_can_be_kept_to_some_elements() -> None:
    model = Plain()
    made = [int(model.element(name=n)[1:]) for n in "ab"]
    rows = check_ids(model.file(), only={made[1]})
    assert {r["step_id"] for r in rows if r["step_id"]} == {made[1]}


def test_an_ids_file_that_cannot_be_read(tmp_path: Path) -> None:
    path = tmp_path / "a.ids"
    path.write_text("<ids/>")
    with pytest.raises(InputError):
        check_ids(Plain().file(), path)
