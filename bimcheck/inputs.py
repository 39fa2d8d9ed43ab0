"""Inputs of a run: the author's bytes of each model, without an earlier block of ours, and what the site says."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bimcheck.core.errors import InputError
from bimcheck.core.ifcfile import load_bytes, stem
from bimcheck.project import Settings
from bimcheck.read.materials import Names, unfit
from bimcheck.read.settings import ReadSettings
from bimcheck.relate.facts import SiteFacts, Storey
from bimcheck.write.strip import strip

_RECORD = b"Bimcheck_Run"


@dataclass(frozen=True)
class Source:
    """One model: path as given, base name, and the file that the reader opens (ours stripped from it)."""

    path: Path
    base: str
    opened: Path

    def original(self, sha256: str = "") -> bytes:
        """The author's bytes; raises InputError where they are no longer those of `sha256`."""
        data = load_bytes(self.opened)
        if sha256 and hashlib.sha256(data).hexdigest() != sha256:
            raise InputError("the model changed while it was being checked", str(self.path), "run bimcheck again")
        return data


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
    if original is data:  # the reader opens what the user named, zipped or not
        return Source(path, stem(path), path)
    plain = folder / f"{stem(path)}.ifc"
    plain.write_bytes(original)
    return Source(path, stem(path), plain)


def read_settings(settings: Settings) -> ReadSettings:
    """The sections that reading depends on, with the globs that override the recognition of unsuited materials.

    A glob is explicit where it does not begin with a wildcard, or where the words it holds are themselves the name of an
    unsuited material ("*glass*"); "*limestone*" says nothing about a limestone veneer on honeycomb.
    """
    p = settings.project
    globs = [glob for row in settings.materials for glob in row.data.match if row.name in p.materials]
    own = ReadSettings(model=p.model, selection=p.selection, reading=p.reading, recognition=p.recognition)
    return own.model_copy(update={"panel_materials": tuple(g for g in globs if not g.startswith("*") or _unfit(g.strip("*?"), own))})


def _unfit(word: str, own: ReadSettings) -> bool:
    return bool(unfit(Names(word, (word,)), own.recognition))


def site_facts(models: Sequence[Any], settings: Settings) -> SiteFacts:
    """Storeys and ground for `relate`; of several models the first that states a thing; the project file's ground goes first."""
    facts = SiteFacts(
        storeys=tuple(Storey(s.model_index, s.name, s.elevation) for m in models for s in m.storeys),
        terrain=_first(m.terrain for m in models), ground_storey=_first(m.ground_storey for m in models), building=_first(m.building for m in models))
    ground = settings.project.model.ground_m
    return facts if ground is None else replace(facts, ground_setting=ground * 1e3)


def _first(values: Iterable[float]) -> float:
    return next((v for v in values if v == v), float("nan"))  # noqa: PLR0124  (nan is not itself)
