"""Plates of the models with known truth: their truth comes from how they were laid out, never from the written file."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.util.unit
import numpy as np
import pytest

from bimcheck.read.geometry import Bodies, bodies, meshes
from tests.shared import SHARED, shared_models

FOLDER = SHARED / "models" / "truth"
FILES = sorted(p.name for p in FOLDER.glob("*.ifc") if "rails" not in p.name) or ["none"]
UP = np.array([0.0, 0.0, 1.0])
LENGTH, AREA, ANGLE = 0.2, 1e-3, 0.1  # mm, share, degrees


def unit_mm(file: Any) -> float:
    """mm of the length unit; files without one are in mm by their description."""
    stated = [u for a in file.by_type("IfcUnitAssignment") for u in a.Units if getattr(u, "UnitType", "") == "LENGTHUNIT"]
    return ifcopenshell.util.unit.calculate_unit_scale(file) * 1000.0 if stated else 1.0


@cache
def truth(folder: Path) -> dict[str, list[dict[str, str]]]:
    rows: dict[str, list[dict[str, str]]] = {}
    for path in sorted(folder.glob("*.truth.csv")):
        with path.open(newline="", encoding="utf-8") as stream:
            for row in csv.DictReader(stream):
                rows.setdefault(row["file"], []).append(row)
    return rows


@cache
def read(name: str) -> tuple[list[dict[str, str]], Bodies]:
    folder = shared_models("truth")
    file = ifcopenshell.open(str(folder / name))
    rows = truth(folder)[name]
    return rows, bodies(file, [int(r["step_id"]) for r in rows], unit_mm(file))


def vector(row: dict[str, str], names: str) -> Any:
    return np.array([float(row[k]) for k in names.split()])


def readable(name: str) -> list[tuple[int, dict[str, str]]]:
    return [(i, r) for i, r in enumerate(read(name)[0]) if r["kind"] != "unreadable"]


def corners(found: Bodies, i: int) -> Any:
    """(k, 3) corners of the outline, without the cut-outs."""
    o = found.outline[i][found.outline[i][:, 2] == 0]
    return found.origin[i] + o[:, :1] * found.u[i] + o[:, 1:2] * found.v[i]


def net_area(outline: Any) -> float:
    rings = [outline[outline[:, 2] == k, :2] for k in np.unique(outline[:, 2])]
    size = [shoelace(r) for r in rings]
    return size[0] - sum(size[1:])


def shoelace(ring: Any) -> float:
    p, q = ring - ring[0], np.roll(ring, -1, axis=0) - ring[0]
    return abs(float(np.sum(p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]))) / 2


@pytest.mark.parametrize("name", FILES)
def test_reason_and_form(name: str) -> None:
    rows, found = read(name)
    for i, row in enumerate(rows):
        wanted = row["reason"] if row["kind"] == "unreadable" else ""
        assert found.reason[i] == wanted, (row["step_id"], row["body_style"])
        if not wanted:
            assert found.form[i] == (row["reason"] if row["reason"] in ("curved", "tapered") else "flat"), row["step_id"]


@pytest.mark.parametrize("name", FILES)
def test_normal_and_thickness(name: str) -> None:
    found = read(name)[1]
    for i, row in readable(name):
        cosine = min(abs(float(found.n[i] @ vector(row, "nx ny nz"))), 1.0)
        assert np.degrees(np.arccos(cosine)) < ANGLE, row["step_id"]
        assert found.thickness[i] == pytest.approx(float(row["thickness_mm"]), abs=LENGTH)
        assert found.thickness_max[i] == pytest.approx(float(row["thickness_max_mm"]), abs=LENGTH)
        assert np.allclose(np.cross(found.u[i], found.v[i]), found.n[i], atol=1e-9)


@pytest.mark.parametrize("name", FILES)
def test_size_and_place(name: str) -> None:
    found = read(name)[1]
    for i, row in readable(name):
        n, centre = vector(row, "nx ny nz"), 1000.0 * vector(row, "cx_m cy_m cz_m")
        if abs(n[2]) > 0.99:  # a soffit's axes depend on the facade it belongs to: its sides only
            sides = sorted(np.ptp(found.outline[i][:, :2], axis=0))
            assert sides == pytest.approx(sorted((float(row["width_mm"]), float(row["height_mm"]))), abs=LENGTH)
            continue
        u = np.cross(UP, n) / np.linalg.norm(np.cross(UP, n))
        for axis, wanted in ((u, row["width_mm"]), (np.cross(n, u), row["height_mm"])):
            along = (corners(found, i) - centre) @ axis
            assert np.ptp(along) == pytest.approx(float(wanted), abs=LENGTH), row["step_id"]
            assert (along.min() + along.max()) / 2 == pytest.approx(0.0, abs=0.5), row["step_id"]


@pytest.mark.parametrize("name", FILES)
def test_front_face_is_one_of_the_two(name: str) -> None:
    found = read(name)[1]
    for i, row in readable(name):
        if row["reason"] == "curved":
            continue
        off = (found.origin[i] - 1000.0 * vector(row, "cx_m cy_m cz_m")) @ vector(row, "nx ny nz")
        front = off if found.n[i] @ vector(row, "nx ny nz") > 0 else off + found.thickness[i]
        assert front == pytest.approx(0.0, abs=0.5), row["step_id"]


@pytest.mark.parametrize("name", FILES)
def test_net_area(name: str) -> None:
    found = read(name)[1]
    for i, row in readable(name):
        if row["reason"] != "curved":  # the truth there is the developed area, the outline the chord's
            assert net_area(found.outline[i]) / 1e6 == pytest.approx(float(row["net_area_m2"]), rel=AREA), row["step_id"]


@pytest.mark.parametrize("name", FILES[::4])
def test_triangles_lie_around_the_plate(name: str) -> None:
    file = ifcopenshell.open(str(shared_models("truth") / name))
    found = read(name)[1]
    some = [(i, int(r["step_id"])) for i, r in readable(name)][:40]
    _, triangles, box = meshes(file, [s for _, s in some], unit_mm(file))
    for k, (i, _) in enumerate(some):
        assert np.all(corners(found, i) > box[k, :3] - LENGTH) and np.all(corners(found, i) < box[k, 3:] + LENGTH)
        through = triangles[k].reshape(-1, 3) @ found.n[i]
        assert np.ptp(through) == pytest.approx(found.thickness_max[i], abs=LENGTH) or found.form[i] != "flat"
