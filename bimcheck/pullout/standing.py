"""On which test series the resistances of a run stand, and whether a series file has changed since its row was made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Tables


@dataclass(frozen=True)
class Standing:
    """Anchor rows of one material that name one series.  stated, found: its SHA-256 in the project file and now ('' none)."""

    material: str
    series: str
    rows: int
    dates: tuple[str, ...]
    stated: str
    found: str


def standings(materials: Iterable[Any], folder: Path | None) -> list[Standing]:
    """materials: complete rows with `name` and `data.anchors`; folder: of the project file, beside which series are looked for."""
    anchors: dict[tuple[str, str, str], list[Any]] = {}
    for row in materials:
        for anchor in row.data.anchors:
            if anchor.series:
                anchors.setdefault((row.name, anchor.series, anchor.series_sha256.strip().casefold()), []).append(anchor)
    return [Standing(name, series, len(rows), tuple(sorted({a.date for a in rows if a.date})), stated, _digest(folder, series))
            for (name, series, stated), rows in anchors.items()]


def _digest(folder: Path | None, series: str) -> str:
    try:
        return sha256(((folder or Path()) / series).read_bytes()).hexdigest()
    except (OSError, ValueError):
        return ""


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """One issue for each series that the materials of the run's panels stand on: info, or a warning where it has changed."""
    panels = tables.get("panels")
    used = set() if panels is None or "material" not in panels else set(panels["material"].tolist())
    return [_issue(s) for s in settings.get("materials.series", ()) if s.material in used]


def _issue(s: Standing) -> Issue:
    what = (f"{s.rows} tested resistance{'s' * (s.rows > 1)} of {s.material} stand{'s' * (s.rows == 1)} on {s.series}"
            f"{', tested from ' + s.dates[0] if s.dates else ', without a date'}")
    key = f"{s.material}: {s.series}: {s.stated}"
    if not s.stated:
        return Issue("series-unproved", "info", f"{what}; no hash is stated", key=key,
                     way_out="paste the rows that `bimcheck pullout` writes")
    if not s.found:
        return Issue("series-unproved", "info", f"{what}; the file is not beside the project file, so it is not compared", key=key,
                     way_out="keep the series beside the project file")
    if s.found != s.stated:
        return Issue("series-changed", "warning", f"{what}, which has changed since: its SHA-256 begins with {s.found[:12]}, "
                     f"the row states {s.stated[:12]}", key=key, way_out="evaluate the series again with `bimcheck pullout`")
    return Issue("series", "info", f"{what}, unchanged (SHA-256 {s.stated[:12]})", key=key)
