"""Inputs of a run: the author's bytes of each model, without an earlier block of ours, and what the site says."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bimcheck.core.errors import InputError
from bimcheck.core.ifcfile import load_bytes, stem
from bimcheck.project import Settings
from bimcheck.relate.facts import SiteFacts, Storey
from bimcheck.write.strip import strip

_RECORD = b"Bimcheck_Run"


@dataclass(frozen=True)
class Source:
    """One model: path as given, base name, the author's bytes, and what the reader opens (a path or an open file)."""

    path: Path
    base: str
    original: bytes
    opened: Any

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.original).hexdigest()


@contextmanager
def sources(paths: Sequence[Path]) -> Iterator[list[Source]]:
    """The models of a run; files of ours are stripped to a temporary folder first.  Raises InputError."""
    _refuse_twice(paths)
    with tempfile.TemporaryDirectory(prefix="bimcheck-") as folder:
        yield [_source(path, Path(folder)) for path in paths]


def _refuse_twice(paths: Sequence[Path]) -> None:
    seen: dict[str, Path] = {}
    for path in paths:
        name = stem(path).casefold()
        if name in seen:
            raise InputError(f"two models have the base name '{stem(path)}'", f"{seen[name]} and {path}", "rename one of them")
        seen[name] = path


def _source(path: Path, folder: Path) -> Source:
    data = load_bytes(path)
    original = strip(data, str(path)).data if _RECORD in data else data
    if original is data and path.suffix.lower() == ".ifc":
        return Source(path, stem(path), original, path)
    plain = folder / f"{stem(path)}.ifc"
    plain.write_bytes(original)
    return Source(path, stem(path), original, plain)


def site_facts(read: Any, settings: Settings) -> SiteFacts:
    """Storeys and ground for `relate`; the project file's ground goes first."""
    ground = settings.project.model.ground_m
    facts = SiteFacts(
        storeys=tuple(Storey(s.model_index, s.name, s.elevation) for s in read.storeys), terrain=read.terrain,
        ground_storey=read.ground_storey, building=read.building)
    return facts if ground is None else replace(facts, ground_setting=ground * 1e3)
