"""Opening a model: the lazily read file, its schema and length unit, or one line that says why not."""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import ifcopenshell

from bimcheck.core import ifcfile, units
from bimcheck.core.errors import InputError
from bimcheck.read.settings import ReadSettings

SCHEMAS = ("IFC2X3", "IFC4", "IFC4X3")
# IfcSIPrefix in millimetres of a metre (ISO 10303-41)
PREFIX_MM = {None: 1e3, "MILLI": 1.0, "CENTI": 10.0, "DECI": 100.0, "KILO": 1e6, "HECTO": 1e5, "DECA": 1e4, "MICRO": 1e-3, "NANO": 1e-6}


Source = Path | str | Any  # path or an open file


@dataclass(frozen=True)
class Opened:
    """A model as opened.  base: the author's base name; factor: millimetres of one length unit; unit: what the file calls it;
    again: gives the file to another process, which must not read on where this one reads (None: not possible)."""

    file: Any
    path: Path
    name: str
    schema: str
    factor: float
    unit: str
    sha256: str
    size: int
    again: Callable[[], Any] | None = None


def open_models(paths: Sequence[Source], settings: ReadSettings) -> list[Opened]:
    """Open all; raises InputError for a file that cannot be used or two of one base name.  Items: paths or open files."""
    if not paths:
        raise InputError("no model given", "", "pass at least one .ifc or .ifczip")
    given = [Path(p) if isinstance(p, str | Path) else p for p in paths]
    _refuse_same_names([p for p in given if isinstance(p, Path)])
    return [_opened(p, i, settings) for i, p in enumerate(given)]


def _refuse_same_names(paths: Sequence[Path]) -> None:
    seen: dict[str, Path] = {}
    for path in paths:
        stem = ifcfile.stem(path).casefold()
        if stem in seen:
            raise InputError(f"two models are called '{ifcfile.stem(path)}'", f"{seen[stem]} and {path}", "rename one of them")
        seen[stem] = path


def _opened(given: Source, index: int, settings: ReadSettings) -> Opened:
    if not isinstance(given, Path):
        return _facts(given, Path(f"model_{index + 1}.ifc"), b"", settings)
    data = ifcfile.load_bytes(given)
    _refuse_no_step(data, given)
    file, lazy = _parse(given, data)
    again = partial(_lazily, given) if lazy else lambda: file
    return replace(_facts(file, given, data, settings), again=again)


def _refuse_no_step(data: bytes, path: Path) -> None:
    if not data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"ISO-10303-21"):
        raise InputError("is no IFC file in STEP text", str(path), "export the model as .ifc")
    if b"END-ISO-10303-21" not in data[-4096:]:
        raise InputError("is cut off: its end is missing", str(path), "export or copy the model again")


def _parse(path: Path, data: bytes) -> tuple[Any, bool]:
    """The file, and whether what it holds is read when it is asked for."""
    zipped = path.suffix.lower() != ".ifc" or zipfile.is_zipfile(path)
    return (_from_text(path, data), False) if zipped else (_lazily(path), True)


def _lazily(path: Path) -> Any:
    try:
        return ifcopenshell.open(str(path), lazy=True)
    except Exception as problem:
        raise InputError(f"cannot be parsed: {problem}", str(path), "open and export it again") from problem


def _from_text(path: Path, data: bytes) -> Any:
    try:
        return ifcopenshell.file.from_string(data.decode("utf-8", "replace"))
    except Exception as problem:
        raise InputError(f"cannot be parsed: {problem}", str(path), "open and export it again") from problem


def _facts(file: Any, path: Path, data: bytes, settings: ReadSettings) -> Opened:
    schema = str(file.schema)
    if schema not in SCHEMAS:
        raise InputError(f"schema {schema} is not supported", str(path), f"export as one of {', '.join(SCHEMAS)}")
    if not file.by_type("IfcProject"):
        raise InputError("holds no project", str(path), "export the whole model")
    factor, unit = length_unit(file, settings.model.length_unit, path)
    name = f"{ifcfile.stem(path)}.ifc"
    return Opened(file, path, name, schema, factor, unit, hashlib.sha256(data).hexdigest() if data else "", len(data))


def length_unit(file: Any, stated: str, path: Path) -> tuple[float, str]:
    """Millimetres of the file's length unit and its name; `stated` counts only where the file has none."""
    assignment = file.by_type("IfcProject")[0].UnitsInContext
    found = [u for u in (assignment.Units if assignment else ()) if getattr(u, "UnitType", "") == "LENGTHUNIT"]
    if found:
        return unit_mm(found[0], path), unit_name(found[0])
    if not stated:
        raise InputError("states no length unit", str(path), "set [model] length_unit in the project file, for example \"mm\"")
    return units.factor(stated, "mm"), stated


def unit_mm(unit: Any, path: Path) -> float:
    """Millimetres of an IfcSIUnit or IfcConversionBasedUnit of length."""
    if unit.is_a("IfcSIUnit") and unit.Name == "METRE" and unit.Prefix in PREFIX_MM:
        return PREFIX_MM[unit.Prefix]
    if unit.is_a("IfcConversionBasedUnit") and unit.ConversionFactor:
        value = float(unit.ConversionFactor.ValueComponent.wrappedValue)
        if value > 0:
            return value * unit_mm(unit.ConversionFactor.UnitComponent, path)
    raise InputError(f"has a length unit that is not understood: {unit}", str(path), "export in millimetres, metres or feet")


def unit_name(unit: Any) -> str:
    return f"{(getattr(unit, 'Prefix', None) or '').lower()}{str(unit.Name).lower()}"
