"""The bytes of a model file, plain or zipped."""

from __future__ import annotations

import zipfile
from pathlib import Path, PurePosixPath

from bimcheck.core.errors import InputError

LARGEST = 4 << 30  # bytes of one model; above it a zip may be a bomb, and no reader here could open it
MOST_RATIO = 200  # STEP text packs 4 to 12 times; far beyond it the zip is not one of a model


def load_bytes(path: Path) -> bytes:
    """The STEP text of `path` (.ifc or .ifczip).  Raises InputError where there is no such file or not exactly one model."""
    try:
        if path.suffix.lower() == ".ifczip" or zipfile.is_zipfile(path):
            return _unzipped(path)
        return path.read_bytes()
    except (OSError, zipfile.BadZipFile, NotImplementedError, RuntimeError) as problem:
        raise InputError(f"cannot be read: {problem}", str(path), "check the path and the file") from problem


def stem(path: Path) -> str:
    """The author's base name: without .ifc or .ifczip and without a trailing .enriched."""
    return path.stem.removesuffix(".enriched")


def _unzipped(path: Path) -> bytes:
    with zipfile.ZipFile(path) as archive:
        models = [m for m in archive.infolist() if not m.is_dir() and m.filename.lower().endswith(".ifc")]
        if len(models) != 1:
            raise InputError(f"the zip holds {len(models)} .ifc files", str(path), "put exactly one .ifc into it")
        _refuse_odd(models[0], path)
        with archive.open(models[0]) as member:
            data = member.read(models[0].file_size + 1)
    if len(data) != models[0].file_size:
        raise InputError("the zip states another size than it holds", str(path), "zip the model again")
    return data


def _refuse_odd(member: zipfile.ZipInfo, path: Path) -> None:
    name = PurePosixPath(member.filename.replace("\\", "/"))
    if name.is_absolute() or ".." in name.parts or ":" in name.parts[0]:
        raise InputError(f"the zip holds the path {member.filename!r}, which leads out of it", str(path),
                         "zip the model again without folders")
    if member.file_size > LARGEST or member.file_size > MOST_RATIO * max(member.compress_size, 1 << 16):
        raise InputError(f"the zipped model would take {member.file_size / 2**20:.0f} MB", str(path),
                         "unzip it yourself and pass the .ifc")
