"""Just enough STEP text (ISO 10303-21) to write models fast: numbers, names, and a growing DATA section."""

from __future__ import annotations

import base64
import uuid
from collections.abc import Iterable, Sequence
from pathlib import Path

SPACE = uuid.uuid5(uuid.NAMESPACE_OID, "bimcheck invented samples")
_BASE64 = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
_IFC64 = bytes.maketrans(_BASE64, b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$")
VIEWS = {"IFC2X3": "CoordinationView_V2.0", "IFC4": "DesignTransferView_V1.0", "IFC4X3": "DesignTransferView"}
SCHEMA_NAMES = {"IFC2X3": "IFC2X3", "IFC4": "IFC4", "IFC4X3": "IFC4X3_ADD2"}
DATE = "2024-01-01T00:00:00"  # fixed: the same input gives the same bytes


def guid_of(name: str) -> str:
    """The GlobalId that belongs to a name: a version 5 UUID in IFC's base 64."""
    return base64.b64encode(b"\0\0" + uuid.uuid5(SPACE, name).bytes).translate(_IFC64)[2:].decode("ascii")


def real(value: float) -> str:
    """A REAL, rounded to nine decimals; always with a decimal point."""
    text = repr(round(value, 9) + 0.0)
    return text if "e" not in text else f"{value:.9f}"


def quoted(text: str) -> str:
    """A string of printable ASCII."""
    return "'" + text.replace("\\", "\\\\").replace("'", "''") + "'"


def listed(items: Iterable[str]) -> str:
    return "(" + ",".join(items) + ")"


class Step:
    """The DATA section of one file in the making; lengths come in mm and are written in the file's unit."""

    def __init__(self, schema: str, mm_per_unit: float, space: str) -> None:
        """schema: IFC2X3, IFC4 or IFC4X3.  space: what the GlobalIds of this file are derived from."""
        self.schema = schema
        self.old = schema == "IFC2X3"
        self.mm_per_unit = mm_per_unit
        self.space = space
        self.owner = "$"
        self.lines: list[str] = []

    def add(self, entity: str) -> str:
        """Append an entity; returns its reference."""
        self.lines.append(entity)
        return f"#{len(self.lines)}"

    def guid(self, name: str) -> str:
        """The GlobalId of the thing of that name in this file."""
        return guid_of(f"{self.space}/{name}")

    def root(self, name: str) -> str:
        """The first two attributes of a rooted entity."""
        return f"'{self.guid(name)}',{self.owner}"

    def mm(self, value: float) -> str:
        """A length given in mm."""
        return real(value / self.mm_per_unit)

    def point(self, *values: float) -> str:
        """A cartesian point given in mm."""
        return self.add(f"IFCCARTESIANPOINT(({','.join([self.mm(v) for v in values])}))")

    def direction(self, *ratios: float) -> str:
        return self.add(f"IFCDIRECTION(({','.join([real(v) for v in ratios])}))")

    def write(self, path: Path, description: str) -> Path:
        """The whole file."""
        head = header(path.name, self.schema, description)
        body = "\n".join([f"#{i}={line};" for i, line in enumerate(self.lines, 1)])
        path.write_bytes(f"{head}DATA;\n{body}\nENDSEC;\nEND-ISO-10303-21;\n".encode("ascii"))
        return path


def header(name: str, schema: str, description: str) -> str:
    """The text from the first line to the end of the header."""
    about = listed(quoted(t) for t in (f"ViewDefinition [{VIEWS[schema]}]", f"Comment [{description}]"))
    who = "('Invented author'),('Invented office'),'bimcheck samples','bimcheck samples','none'"
    return (f"ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION({about},'2;1');\nFILE_NAME({quoted(name)},'{DATE}',{who});\n"
            f"FILE_SCHEMA(('{SCHEMA_NAMES[schema]}'));\nENDSEC;\n")


def chunks(items: Sequence[str], size: int) -> Iterable[Sequence[str]]:
    """Runs of at most `size` items."""
    return (items[i : i + size] for i in range(0, len(items), size))
