"""Tables as read would deliver them, made from the truth files instead of the models: relate tested on its own.

Axes are turned and flipped at random, as exporters do: nothing here tells relate which side is outside.
"""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from bimcheck.core.tables import Ragged, Table
from bimcheck.relate.facts import SiteFacts, Storey

UP = np.array([0.0, 0.0, 1.0])
ROLES = {"IfcSlab": "slab", "IfcWindow": "frame", "IfcMember": "rail", "IfcDiscreteAccessory": "bracket",
         "IfcPipeSegment": "service", "IfcWall": "wall"}


@dataclass(frozen=True)
class Case:
    truth: list[dict[str, str]]
    facts: dict[str, Any]
    elements: Table
    obstacles: Table
    site: SiteFacts


def number(text: str) -> float:
    return float(text) if text else float("nan")


def load(folder: Path, name: str, *, bodies: bool = False, seed: int = 1) -> Case:
    with (folder / f"{name}.truth.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    facts = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
    thickness_mm = np.array([number(r["thickness_mm"]) for r in rows])
    rng = np.random.default_rng(seed)
    raw = [_raw(r, rng) for r in rows]
    columns: dict[str, Any] = {
        "guid": _text(rows, "guid"), "step_id": np.array([int(r["step_id"]) for r in rows]), "name": _text(rows, "name"),
        "model": _text(rows, "file"), "model_index": np.array([facts["files"].index(r["file"]) for r in rows]),
        "status": _text(rows, "kind"), "reason": _text(rows, "reason"), "storey": _text(rows, "storey"),
        "material_name": _text(rows, "material"), "thickness": thickness_mm,
        "form": np.array([r["reason"] if r["reason"] in ("curved", "tapered") else "flat" for r in rows], dtype=object),
        "raw_outline": Ragged.of([r[4] for r in raw], (3,)), "raw_outline_back": Ragged.of([np.zeros((0, 3))] * len(raw), (3,)),
    }
    columns |= {f"raw_{k}": np.array([r[i] for r in raw]) for i, k in enumerate(("origin", "u", "v", "n"))}
    site = SiteFacts(tuple(Storey(0, s["name"], s["elevation_m"] * 1000) for s in facts["storeys"]),
                     ground_setting=facts["ground_elevation_m"] * 1000)
    obstacles = bodies_of(folder, facts) if bodies else no_bodies()
    return Case(rows, facts, Table("elements", len(rows), columns), obstacles, site)


def _text(rows: list[dict[str, str]], key: str) -> np.ndarray:
    return np.array([r[key] for r in rows], dtype=object)


def _raw(r: dict[str, str], rng: np.random.Generator) -> tuple[np.ndarray, ...]:
    """origin, u, v, n, outline: the front or the rear face, in axes turned about n by any angle."""
    if not r["outline_mm"]:
        return np.full(3, np.nan), np.full(3, np.nan), np.full(3, np.nan), np.full(3, np.nan), np.zeros((0, 3))
    n = np.array([number(r[k]) for k in ("nx", "ny", "nz")])
    centre = np.array([number(r[k]) for k in ("cx_m", "cy_m", "cz_m")]) * 1000
    # A soffit's u is that of its facade: the only soffits of these files hang under F2, whose u is (0, 1, 0).
    u = np.cross(UP, n) if abs(n[2]) < 0.99 else np.array([0.0, 1.0, 0.0])
    u /= np.linalg.norm(u)
    v = np.cross(n, u)
    rings = _rings(r)
    outer = rings[0]
    corner = centre - u * np.ptp(outer[:, 0]) / 2 - v * np.ptp(outer[:, 1]) / 2
    if rng.random() < 0.5:  # the parallel face, seen from behind
        corner, n = corner - number(r["thickness_mm"]) * n, -n
    angle = rng.random() * 2 * np.pi if rng.random() < 0.5 else rng.integers(4) * np.pi / 2
    ru = np.cos(angle) * u + np.sin(angle) * v
    rv = np.cross(n, ru)
    points = [corner + p[:, :1] * u + p[:, 1:] * v for p in rings]
    origin = points[0].mean(axis=0) + rng.normal(size=2) @ np.array([ru, rv]) * 100
    outline = [np.column_stack([(p - origin) @ ru, (p - origin) @ rv, np.full(len(p), k)]) for k, p in enumerate(points)]
    return origin, ru, rv, n, np.concatenate([o[::-1] if rng.random() < 0.5 else o for o in outline])


def _rings(r: dict[str, str]) -> list[np.ndarray]:
    rings = [_points(r["outline_mm"])]
    for part in r["cutouts_mm"].split(";") if r["cutouts_mm"] else []:
        kind, _, values = part.strip().partition(":")
        rings.append(_circle(values) if kind == "circle" else _points(values))
    return rings


def _points(text: str) -> np.ndarray:
    return np.array([[float(c) for c in p.split(",")] for p in text.split()])


def _circle(text: str) -> np.ndarray:
    """A polygon of the circle's own area."""
    x, y, r = (float(c) for c in text.split(","))
    a = np.arange(64) * 2 * np.pi / 64
    r *= np.sqrt(np.pi / (32 * np.sin(np.pi / 32)))
    return np.column_stack([x + r * np.cos(a), y + r * np.sin(a)])


def no_bodies() -> Table:
    text = np.zeros(0, dtype=object)
    return Table("obstacles", 0, {"guid": text, "name": text, "ifc_class": text, "role": text, "box": np.zeros((0, 6)),
                                  "triangles": Ragged.of([], (9,))})


def bodies_of(folder: Path, facts: dict[str, Any]) -> Table:
    """Every body of the files that is no panel, as ifcopenshell triangulates it."""
    import ifcopenshell  # noqa: PLC0415
    import ifcopenshell.geom  # noqa: PLC0415
    how = ifcopenshell.geom.settings()
    how.set("use-world-coords", True)
    others = set(facts["non_panels"])
    found = []
    for file in facts["files"]:
        model = ifcopenshell.open(str(folder / file))  # entities do not keep their file alive
        for e in model.by_type("IfcProduct"):
            if e.GlobalId not in others or not e.Representation:
                continue
            try:
                shape = ifcopenshell.geom.create_shape(how, e).geometry
            except RuntimeError:
                continue
            points = np.array(shape.verts).reshape(-1, 3) * 1000
            found.append(((e.GlobalId, e.Name or "", e.is_a()), points[np.array(shape.faces).reshape(-1, 3)].reshape(-1, 9)))
    role = [ROLES.get(e[2], "member") for e, _ in found]
    corners = [t.reshape(-1, 3) for _, t in found]
    return Table("obstacles", len(found), {
        "guid": np.array([e[0] for e, _ in found], dtype=object), "name": np.array([e[1] for e, _ in found], dtype=object),
        "ifc_class": np.array([e[2] for e, _ in found], dtype=object), "role": np.array(role, dtype=object),
        "box": np.array([np.r_[c.min(axis=0), c.max(axis=0)] for c in corners]).reshape(-1, 6),
        "triangles": Ragged.of([t for _, t in found], (9,))})
