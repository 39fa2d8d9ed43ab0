"""Series files for tests, built cell by cell; every figure is invented."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from bimcheck.core.tables import Table
from bimcheck.pullout.read import table_of
from bimcheck.pullout.sheet import parse

TODAY = date(2026, 11, 25)
HEAD = "material,colour,thickness_mm,condition,embedment_mm,edge_mm,ring_mm,load_kN,failure,date,position"
LOADS = (3.42, 3.88, 3.65, 4.10, 3.71, 3.55, 3.97, 3.80, 3.62, 3.91)


def row(load: object, material: str = "granite", colour: str = "grey", thickness: object = 30, condition: str = "dry",
        embedment: object = 15, edge: object = 100, ring: object = 60, failure: str = "breakout", day: str = "2026-03-02",
        position: object = "") -> str:
    return f"{material},{colour},{thickness},{condition},{embedment},{edge},{ring},{load},{failure},{day},{position}"


def lines(rows: Iterable[str], head: str = HEAD) -> bytes:
    return ("\n".join([head, *rows]) + "\n").encode()


def table(data: bytes | str | Sequence[str], today: date = TODAY) -> Table:
    """The table of a file's bytes, of its text, or of rows under HEAD."""
    if isinstance(data, str):
        data = data.encode()
    elif not isinstance(data, bytes):
        data = lines(data)
    return table_of(parse(data, "s.csv"), "s.csv", today)


def file(folder: Path, rows: Iterable[str], head: str = HEAD) -> Path:
    path = folder / "s.csv"
    path.write_bytes(lines(rows, head))
    return path
