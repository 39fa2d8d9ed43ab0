"""Model bytes from .ifc and .ifczip; a zip may not lead out of itself or blow up."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from bimcheck.core.errors import InputError
from bimcheck.core.ifcfile import load_bytes, stem

DATA = b"ISO-10303-21;\n" + bytes(range(256)) * 40


def _zip(folder: Path, members: dict[str, bytes]) -> Path:
    path = folder / "tower.ifczip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


def test_plain_and_zipped_give_the_same_bytes(tmp_path: Path) -> None:
    (tmp_path / "tower.ifc").write_bytes(DATA)
    assert load_bytes(tmp_path / "tower.ifc") == DATA
    assert load_bytes(_zip(tmp_path, {"a/tower.IFC": DATA, "readme.txt": b"x"})) == DATA


@pytest.mark.parametrize("members", [
    {}, {"a.txt": DATA}, {"a.ifc": DATA, "b.ifc": DATA}, {"../a.ifc": DATA}, {"/etc/a.ifc": DATA}, {"C:\\a.ifc": DATA},
    {"a.ifc": bytes(50_000_000)},  # packs a thousandfold: no STEP text does
])
def test_odd_zips_are_refused(tmp_path: Path, members: dict[str, bytes]) -> None:
    with pytest.raises(InputError):
        load_bytes(_zip(tmp_path, members))


def test_what_is_not_there_or_not_a_zip_is_refused(tmp_path: Path) -> None:
    (tmp_path / "b.ifczip").write_bytes(DATA)
    for name in ("b.ifczip", "none.ifc", "."):
        with pytest.raises(InputError):
            load_bytes(tmp_path / name)


def test_the_base_name_is_the_authors() -> None:
    for name in ("tower.ifc", "tower.ifczip", "tower.enriched.ifc", "tower.enriched.ifczip"):
        assert stem(Path("x") / name) == "tower"
    assert stem(Path("tower.v2.ifc")) == "tower.v2"
